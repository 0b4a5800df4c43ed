package web

import (
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"
)

// newServer is a server whose port is 80 on paper; d may be nil where no request reaches the desk.
func newServer(t *testing.T, d Desk) *Server {
	t.Helper()
	s, err := New(d, Options{Port: "80", Name: "club-day"})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// ask makes a request as a browser that was let in does.
func ask(s *Server, method, path, body string) *http.Request {
	r := httptest.NewRequest(method, path, strings.NewReader(body))
	r.Host = "127.0.0.1:80"
	r.AddCookie(&http.Cookie{Name: s.pass.cookie, Value: s.pass.secret})
	return r
}

func answer(s *Server, r *http.Request) *http.Response {
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	return w.Result()
}

// said reads an API refusal.
func said(t *testing.T, r *http.Response) refusal {
	t.Helper()
	var v struct{ Error refusal }
	data, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, &v); err != nil {
		t.Fatalf("refusal is no JSON: %v: %s", err, data)
	}
	return v.Error
}

func TestGuardRefusesStrangers(t *testing.T) {
	t.Parallel()
	s := newServer(t, nil)
	for _, c := range []struct {
		name   string
		change func(*http.Request)
		want   int
	}{
		{"no cookie", func(r *http.Request) { r.Header.Del("Cookie") }, http.StatusForbidden},
		{"wrong cookie", func(r *http.Request) { r.Header.Set("Cookie", s.pass.cookie+"=x") }, http.StatusForbidden},
		{"the token is not the cookie", func(r *http.Request) { r.Header.Set("Cookie", s.pass.cookie+"="+s.pass.tokens.draw(time.Now())) }, http.StatusForbidden},
		{"cookie of another port", func(r *http.Request) { r.Header.Set("Cookie", "padside-81="+s.pass.secret) }, http.StatusForbidden},
		{"foreign host", func(r *http.Request) { r.Host = "club.example:80" }, http.StatusMisdirectedRequest},
		{"host without the port", func(r *http.Request) { r.Host = "127.0.0.1" }, http.StatusMisdirectedRequest},
		{"host of another port", func(r *http.Request) { r.Host = "localhost:81" }, http.StatusMisdirectedRequest},
		{"no host", func(r *http.Request) { r.Host = "" }, http.StatusMisdirectedRequest},
		{"another site", func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") }, http.StatusForbidden},
		{"another port of this host", func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "same-site") }, http.StatusForbidden},
		{"foreign origin", func(r *http.Request) { r.Header.Set("Origin", "http://club.example") }, http.StatusForbidden},
		{"origin of a file", func(r *http.Request) { r.Header.Set("Origin", "null") }, http.StatusForbidden},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			// A desk that is nil would panic, so a request that gets through is noticed.
			r := ask(s, "POST", "/api/jobs/j1/cancel", "")
			c.change(r)
			got := answer(s, r)
			if got.StatusCode != c.want {
				t.Errorf("status = %d, want %d", got.StatusCode, c.want)
			}
			if e := said(t, got); e.Message == "" || e.Hint == "" {
				t.Errorf("refusal %+v says not what is wrong and what to do", e)
			}
		})
	}
}

func TestGuardLetsIn(t *testing.T) {
	t.Parallel()
	s := newServer(t, nil)
	for _, host := range []string{"127.0.0.1:80", "localhost:80", "LOCALHOST:80", "[::1]:80"} {
		r := ask(s, "GET", "/", "")
		r.Host = host
		if got := answer(s, r); got.StatusCode != http.StatusOK {
			t.Errorf("GET / at %s = %d, want 200", host, got.StatusCode)
		}
	}
}

// A token is good once, and for a minute.
func TestTokens(t *testing.T) {
	t.Parallel()
	tokens := newPass("80").tokens
	now := time.Date(2026, 5, 16, 12, 0, 0, 0, time.UTC)
	one, late := tokens.draw(now), tokens.draw(now)
	if one == late || !tokens.take(one, now.Add(tokenLife)) || tokens.take(one, now) {
		t.Error("a token is not good once")
	}
	if tokens.take(late, now.Add(tokenLife+time.Second)) || tokens.take("", now) {
		t.Error("a token is good after a minute")
	}
}

func TestEnterExchangesTheToken(t *testing.T) {
	t.Parallel()
	s := newServer(t, nil)
	path := s.Address()[strings.Index(s.Address(), "/enter"):]
	r := httptest.NewRequest("GET", path, nil)
	r.Host = "127.0.0.1:80"
	got := answer(s, r)
	if got.StatusCode != http.StatusSeeOther || got.Header.Get("Location") != "/" {
		t.Fatalf("GET /enter = %d to %q, want 303 to /", got.StatusCode, got.Header.Get("Location"))
	}
	cookie := got.Header.Get("Set-Cookie")
	for _, want := range []string{"HttpOnly", "SameSite=Strict", "Path=/"} {
		if !strings.Contains(cookie, want) {
			t.Errorf("cookie %q lacks %s", cookie, want)
		}
	}
	_, token, _ := strings.Cut(path, "token=")
	if strings.Contains(cookie, token) {
		t.Errorf("cookie %q holds the token", cookie)
	}
	r = httptest.NewRequest("GET", "/", nil)
	r.Host = "127.0.0.1:80"
	r.Header.Set("Cookie", strings.Split(cookie, ";")[0])
	if got := answer(s, r); got.StatusCode != http.StatusOK {
		t.Errorf("GET / with the cookie = %d, want 200", got.StatusCode)
	}
	for _, wrong := range []string{"/enter", "/enter?token=", path, "/enter?token=" + token[1:], "/enter?token=" + s.pass.secret} {
		r := httptest.NewRequest("GET", wrong, nil)
		r.Host = "127.0.0.1:80"
		got := answer(s, r)
		page, _ := io.ReadAll(got.Body)
		if got.StatusCode != http.StatusForbidden || got.Header.Get("Set-Cookie") != "" || !strings.Contains(string(page), "prints another address") {
			t.Errorf("GET %s = %d, cookie %q: want 403 with a page that says what to do", wrong, got.StatusCode, got.Header.Get("Set-Cookie"))
		}
	}
}

func TestEveryAnswerIsGuarded(t *testing.T) {
	t.Parallel()
	s := newServer(t, nil)
	for _, path := range []string{"/", "/nothing", "/static/paper.css", "/api/nothing", "/enter"} {
		h := answer(s, ask(s, "GET", path, "")).Header
		if p := h.Get("Content-Security-Policy"); !strings.Contains(p, "default-src 'self'") || strings.Contains(p, "unsafe") {
			t.Errorf("%s: Content-Security-Policy = %q", path, p)
		}
		if h.Get("X-Content-Type-Options") != "nosniff" || h.Get("Referrer-Policy") != "no-referrer" {
			t.Errorf("%s: headers %v lack nosniff or no-referrer", path, h)
		}
		if !strings.HasPrefix(path, "/static/") && h.Get("Cache-Control") != "no-store" {
			t.Errorf("%s: Cache-Control = %q, want no-store", path, h.Get("Cache-Control"))
		}
	}
}

func TestPagesAreOfThisServerOnly(t *testing.T) {
	t.Parallel()
	s := newServer(t, nil)
	page, _ := io.ReadAll(answer(s, ask(s, "GET", "/", "")).Body)
	for _, part := range []string{"//", "<style", "style=", "javascript:", " onclick"} {
		if strings.Contains(strings.ReplaceAll(string(page), "http://www.w3.org/", ""), part) {
			t.Errorf("the page holds %q", part)
		}
	}
	// What no request may reach, whatever its path says.
	for _, path := range []string{"/static/../guard.go", "/static/%2e%2e/guard.go", "/static/", "/static/fonts", "/static//etc/passwd", "/../etc/passwd"} {
		if got := answer(s, ask(s, "GET", path, "")); got.StatusCode == http.StatusOK {
			t.Errorf("GET %s = 200", path)
		}
	}
}

func TestStaticFilesAreKept(t *testing.T) {
	t.Parallel()
	s := newServer(t, nil)
	page, _ := io.ReadAll(answer(s, ask(s, "GET", "/", "")).Body)
	found := 0
	for part := range strings.SplitSeq(string(page), `"`) {
		if !strings.HasPrefix(part, "/static/") {
			continue
		}
		found++
		got := answer(s, ask(s, "GET", part, ""))
		if got.StatusCode != http.StatusOK || !strings.Contains(got.Header.Get("Cache-Control"), "immutable") {
			t.Errorf("GET %s = %d, Cache-Control %q: want 200, immutable", part, got.StatusCode, got.Header.Get("Cache-Control"))
		}
	}
	if found < 4 {
		t.Errorf("the page names %d files, want its style, its script, its mark and its theme at least", found)
	}
}

// The two papers must define the same inks.
func TestPapersHaveTheSameInks(t *testing.T) {
	t.Parallel()
	css, err := files.ReadFile("static/paper.css")
	if err != nil {
		t.Fatal(err)
	}
	inks := func(from string) map[string]bool {
		_, block, ok := strings.Cut(string(css), from)
		if !ok {
			t.Fatalf("paper.css has no %s", from)
		}
		block, _, _ = strings.Cut(block, "}")
		out := map[string]bool{}
		for part := range strings.SplitSeq(block, "--") {
			if name, value, ok := strings.Cut(part, ":"); ok && strings.HasPrefix(strings.TrimSpace(value), "#") {
				out[name] = true
			}
		}
		return out
	}
	light, dark := inks("\n:root {"), inks(`:root[data-theme="dark"] {`)
	for name := range light {
		if !dark[name] {
			t.Errorf("the dark paper lacks --%s", name)
		}
	}
	if len(light) < 20 || len(dark) != len(light) {
		t.Errorf("%d inks on light paper, %d on dark", len(light), len(dark))
	}
}
