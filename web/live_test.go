package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"net/http"
	"net/http/httptest"
	"testing"

	"padside/desk"
)

// live is a server on a real desk, with a client that was let in.
type live struct {
	*testing.T
	dir    string
	server *Server
	http   *httptest.Server
}

func newLive(t *testing.T) *live {
	t.Helper()
	dir := t.TempDir()
	d, err := desk.Open(dir, true)
	if err != nil {
		t.Fatal(err)
	}
	l := &live{T: t, dir: dir, http: httptest.NewUnstartedServer(nil)}
	if l.server, err = New(d, Options{Port: Port(l.http.Listener), Name: "club-day"}); err != nil {
		t.Fatal(err)
	}
	l.http.Config.Handler = l.server
	l.http.Start()
	t.Cleanup(func() {
		l.http.CloseClientConnections()
		l.http.Close()
		if err := d.Close(); err != nil {
			t.Error(err)
		}
	})
	return l
}

// do makes a request and reads the answer.
func (l *live) do(method, path string, body []byte) (status int, answer []byte) {
	l.Helper()
	r, err := http.NewRequest(method, l.http.URL+path, bytes.NewReader(body))
	if err != nil {
		l.Fatal(err)
	}
	r.AddCookie(&http.Cookie{Name: l.server.pass.cookie, Value: l.server.pass.secret})
	r.Header.Set(tabHeader, "tab-1")
	got, err := http.DefaultClient.Do(r)
	if err != nil {
		l.Fatal(err)
	}
	defer got.Body.Close()
	if answer, err = io.ReadAll(got.Body); err != nil {
		l.Fatal(err)
	}
	return got.StatusCode, answer
}

// want makes a request, wants a status and decodes the answer into v, if any.
func (l *live) want(status int, method, path, body string, v any) {
	l.Helper()
	got, answer := l.do(method, path, []byte(body))
	if got != status {
		l.Fatalf("%s %s = %d %s, want %d", method, path, got, clip(string(answer), 300), status)
	}
	if v == nil {
		return
	}
	if err := json.Unmarshal(answer, v); err != nil {
		l.Fatalf("%s %s: %v: %s", method, path, err, clip(string(answer), 300))
	}
}

func (l *live) cards() []desk.Card {
	l.Helper()
	var book struct{ Launches []desk.Card }
	l.want(200, "GET", "/api/logbook", "", &book)
	return book.Launches
}

// still is a PNG with a bright spot that is somewhere else in each frame.
func still(t testing.TB, i int) []byte {
	t.Helper()
	img := image.NewGray(image.Rect(0, 0, 64, 96))
	img.SetGray(32, 90-5*i, color.Gray{Y: 255})
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// stills sends a few stills and returns the new launch's name.
func (l *live) stills(title string) string {
	l.Helper()
	var i struct{ ID string }
	l.want(200, "POST", "/api/imports", "{}", &i)
	for k := range 4 {
		if got, answer := l.do("PUT", fmt.Sprintf("/api/imports/%s/still-%d.png", i.ID, k), still(l, k)); got != 204 {
			l.Fatalf("PUT still = %d %s", got, answer)
		}
	}
	var n named
	l.want(200, "POST", "/api/imports/"+i.ID+"/finish", fmt.Sprintf(`{"title":%q}`, title), &n)
	return n.Name
}
