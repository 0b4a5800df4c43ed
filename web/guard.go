package web

import (
	"crypto/rand"
	"crypto/subtle"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"
)

// policy lets pages load from this server alone, and nobody frame them.
const policy = "default-src 'self'; img-src 'self' blob:; base-uri 'none'; form-action 'self'; frame-ancestors 'none'; object-src 'none'"

// pass is what a browser must bring: a token, or the cookie it was exchanged for. The two differ, and a token is good once and for a minute, so
// that an address left in a shell's or a browser's memory lets nobody in.
type pass struct {
	tokens *tokens
	secret string
	cookie string // its name; with the port in it, as browsers share cookies among the ports of a host
}

func newPass(port string) pass {
	return pass{tokens: &tokens{until: map[string]time.Time{}}, secret: rand.Text(), cookie: "padside-" + port}
}

// tokenLife is how long a token is good.
const tokenLife = time.Minute

// tokens are those that were handed out and not used yet.
type tokens struct {
	mu    sync.Mutex
	until map[string]time.Time
}

// draw hands out a token.
func (t *tokens) draw(now time.Time) string {
	t.mu.Lock()
	defer t.mu.Unlock()
	for token, until := range t.until {
		if now.After(until) {
			delete(t.until, token)
		}
	}
	token := rand.Text()
	t.until[token] = now.Add(tokenLife)
	return token
}

// take says whether a token is good, and ends it.
func (t *tokens) take(given string, now time.Time) bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	for token, until := range t.until {
		if same(given, token) {
			delete(t.until, token)
			return !now.After(until)
		}
	}
	return false
}

func same(a, b string) bool { return subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1 }

// held says whether the request brings the cookie.
func (p pass) held(r *http.Request) bool {
	c, err := r.Cookie(p.cookie)
	return err == nil && same(c.Value, p.secret)
}

// enter exchanges a token for the cookie. Who holds the cookie is let in without.
func (s *Server) enter(w http.ResponseWriter, r *http.Request) {
	if s.pass.held(r) {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return
	}
	if !s.pass.tokens.take(r.URL.Query().Get("token"), time.Now()) {
		s.refuse(w, r, http.StatusForbidden, refusal{Message: "this address was used, is older than a minute, or is of another start of padside",
			Hint: "press Enter where padside runs: it prints another address"})
		return
	}
	http.SetCookie(w, &http.Cookie{Name: s.pass.cookie, Value: s.pass.secret, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

// guard refuses what does not come from the person at this machine.
func (s *Server) guard(next http.Handler) http.Handler {
	cross := http.NewCrossOriginProtection()
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		head(w.Header())
		if !slices.Contains(s.hosts, strings.ToLower(r.Host)) {
			s.refuse(w, r, http.StatusMisdirectedRequest, refusal{Message: "this server does not answer to the host " + clip(r.Host, 80),
				Hint: "open the address that padside printed; forward the same port number where padside runs elsewhere"})
			return
		}
		if err := cross.Check(r); err != nil {
			s.refuse(w, r, http.StatusForbidden, refusal{Message: "this change was asked for by another site",
				Hint: "make changes on padside's own pages"})
			return
		}
		if !open(r.URL.Path) && !s.pass.held(r) {
			s.refuse(w, r, http.StatusForbidden, refusal{Message: "this browser has not been let in",
				Hint: "press Enter where padside runs, and open the address that it prints"})
			return
		}
		next.ServeHTTP(w, r)
	})
}

// open says which paths need no pass: the door, and what the page that refuses is drawn with.
func open(path string) bool {
	return path == "/enter" || strings.HasPrefix(path, "/static/")
}

func head(h http.Header) {
	h.Set("Content-Security-Policy", policy)
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Cache-Control", "no-store")
}

// clip shortens what a stranger sent before it is shown.
func clip(s string, n int) string {
	if len(s) > n {
		return strings.ToValidUTF8(s[:n], "") + "..."
	}
	return s
}

// loopbackHosts are the names under which a browser on this machine reaches a port.
func loopbackHosts(port string) []string {
	return []string{"127.0.0.1:" + port, "localhost:" + port, "[::1]:" + port}
}
