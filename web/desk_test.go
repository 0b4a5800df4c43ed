package web

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

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

func TestImportMakesALaunch(t *testing.T) {
	t.Parallel()
	l := newLive(t)
	if got := l.cards(); len(got) != 0 {
		t.Fatalf("a new logbook holds %d launches", len(got))
	}
	name := l.stills("Bittern, first try")
	cards := l.cards()
	if len(cards) != 1 || cards[0].Name != name || cards[0].Title != "Bittern, first try" || cards[0].State != desk.StateNew && cards[0].Problem == "" {
		t.Fatalf("cards = %+v, want the new launch, not measured", cards)
	}
	var v desk.View
	l.want(200, "GET", "/api/launches/"+name, "", &v)
	status, frame := l.do("GET", "/api/launches/"+name+"/frames/2?crop=0,0,64,96", nil)
	if status != 200 {
		t.Fatalf("frame = %d %s", status, frame)
	}
	img, err := png.Decode(bytes.NewReader(frame))
	if err != nil {
		t.Fatal(err)
	}
	if r, _, _, _ := img.At(32, 80).RGBA(); r != 0xffff || img.Bounds().Dx() != 64 {
		t.Errorf("frame 2 has %d at its spot and is %v, want the still as it was sent", r, img.Bounds())
	}
	// To the trash and back.
	l.want(204, "DELETE", "/api/launches/"+name, "", nil)
	if got := l.cards(); len(got) != 0 {
		t.Fatalf("%d launches after the only one went to the trash", len(got))
	}
	l.want(404, "GET", "/api/launches/"+name, "", nil)
	l.want(204, "POST", "/api/trash/"+name+"/restore", "", nil)
	if got := l.cards(); len(got) != 1 {
		t.Fatalf("%d launches after the only one came back", len(got))
	}
}

func TestImportRefuses(t *testing.T) {
	t.Parallel()
	l := newLive(t)
	var i struct{ ID string }
	l.want(200, "POST", "/api/imports", "{}", &i)
	at := "/api/imports/" + i.ID
	for _, c := range []struct {
		name, method, path, body string
		want                     int
	}{
		{"a name that climbs", "PUT", at + "/..%2fclimbed.png", "x", 422},
		{"a name with a backslash", "PUT", at + "/..%5cclimbed.png", "x", 422},
		{"a hidden name", "PUT", at + "/.profile", "x", 422},
		{"an unknown import", "PUT", "/api/imports/i99/a.png", "x", 404},
		{"nothing was sent", "POST", at + "/finish", "{}", 422},
		{"an unknown key", "POST", at + "/finish", `{"titel":"x"}`, 422},
		{"no JSON", "POST", at + "/finish", "title", 422},
		{"two values", "POST", at + "/finish", "{} {}", 422},
		{"a path that leads nowhere", "POST", "/api/launches", `{"path":"/nowhere/at/all.mp4"}`, 422},
		{"an empty path", "POST", "/api/launches", `{"path":" "}`, 422},
		{"a wrong method", "POST", "/api/logbook", "{}", 405},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, answer := l.do(c.method, c.path, []byte(c.body))
			if got != c.want {
				t.Fatalf("%s %s = %d %s, want %d", c.method, c.path, got, answer, c.want)
			}
			if c.want != 405 && (!bytes.Contains(answer, []byte(`"hint":"`)) || bytes.Contains(answer, []byte(`"hint":""`))) {
				t.Errorf("%s gives no hint", answer)
			}
		})
	}
	l.want(204, "DELETE", at, "", nil)
	l.want(404, "DELETE", at, "", nil)
	l.nothingKept()
}

// nothingKept wants a logbook without launches and without footage.
func (l *live) nothingKept() {
	l.Helper()
	if got := l.cards(); len(got) != 0 {
		l.Errorf("%d launches, want none", len(got))
	}
	err := filepath.WalkDir(l.dir, func(path string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() && strings.Contains(strings.ToLower(path), ".png") {
			l.Errorf("%s was kept", path)
		}
		return err
	})
	if err != nil {
		l.Error(err)
	}
}

func TestImportOfNoFootage(t *testing.T) {
	t.Parallel()
	l := newLive(t)
	var i struct{ ID string }
	l.want(200, "POST", "/api/imports", "{}", &i)
	if got, answer := l.do("PUT", "/api/imports/"+i.ID+"/notes.png", []byte("these are notes, no picture")); got != 204 {
		t.Fatalf("PUT = %d %s", got, answer)
	}
	got, answer := l.do("POST", "/api/imports/"+i.ID+"/finish", []byte("{}"))
	if got != 422 || !bytes.Contains(answer, []byte("notes.png")) {
		t.Errorf("finish = %d %s, want 422 that names the file", got, answer)
	}
	l.nothingKept()
}

// raw speaks HTTP by hand, as a browser that is cut off does.
func (l *live) raw(head string, body []byte) net.Conn {
	l.Helper()
	c, err := net.Dial("tcp", l.http.Listener.Addr().String())
	if err != nil {
		l.Fatal(err)
	}
	fmt.Fprintf(c, "%sHost: %s\r\nCookie: %s=%s\r\n\r\n", head, l.http.Listener.Addr(), l.server.pass.cookie, l.server.pass.secret)
	if _, err := c.Write(body); err != nil {
		l.Fatal(err)
	}
	return c
}

func TestUploadCutOffIsNotKept(t *testing.T) {
	t.Parallel()
	l := newLive(t)
	var i struct{ ID string }
	l.want(200, "POST", "/api/imports", "{}", &i)
	path := "/api/imports/" + i.ID + "/still-0.png"
	whole := still(t, 0)
	// Half of the file, then this side says that no more will come: the server can still answer.
	c := l.raw(fmt.Sprintf("PUT %s HTTP/1.1\r\nContent-Length: %d\r\n", path, len(whole)), whole[:len(whole)/2])
	defer c.Close()
	if err := c.(*net.TCPConn).CloseWrite(); err != nil {
		t.Fatal(err)
	}
	got, err := http.ReadResponse(bufio.NewReader(c), nil)
	if err == nil {
		answer, _ := io.ReadAll(got.Body)
		if got.StatusCode < 400 || !bytes.Contains(answer, []byte("cut off")) {
			t.Errorf("an upload cut off = %d %s, want an error that says so", got.StatusCode, answer)
		}
	}
	l.want(422, "POST", "/api/imports/"+i.ID+"/finish", "{}", nil)
	// The same file can be sent again.
	if got, answer := l.do("PUT", path, whole); got != 204 {
		t.Errorf("sent again = %d %s, want 204", got, answer)
	}
	// Without a length a cut-off could not be told.
	c = l.raw(fmt.Sprintf("PUT %s HTTP/1.1\r\nTransfer-Encoding: chunked\r\n", path), []byte("0\r\n\r\n"))
	defer c.Close()
	if got, err := http.ReadResponse(bufio.NewReader(c), nil); err != nil || got.StatusCode != http.StatusLengthRequired {
		t.Errorf("an upload without a length: %v, %v, want 411", got, err)
	}
}

func TestLaunchNamesCannotClimb(t *testing.T) {
	t.Parallel()
	l := newLive(t)
	outside := filepath.Join(filepath.Dir(l.dir), "outside")
	if err := os.MkdirAll(outside, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(outside, "launch.toml"), []byte("format = 1\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"..%2f..%2foutside", "%2e%2e%2f%2e%2e%2foutside", "..", ".", "%00", "a%2fb", "..%5coutside", "/etc"} {
		for _, c := range [][2]string{{"GET", ""}, {"DELETE", ""}, {"GET", "/setup"}, {"GET", "/frames/0"}, {"GET", "/pictures/exposure"}, {"POST", "/measure"}} {
			got, answer := l.do(c[0], "/api/launches/"+name+c[1], nil)
			if got < 400 || got == 500 {
				t.Errorf("%s %s%s = %d %s, want it refused", c[0], name, c[1], got, clip(string(answer), 200))
			}
		}
		if got, _ := l.do("POST", "/api/trash/"+name+"/restore", nil); got < 400 || got == 500 {
			t.Errorf("restore %s = %d, want it refused", name, got)
		}
	}
	if _, err := os.Stat(filepath.Join(outside, "launch.toml")); err != nil {
		t.Errorf("a file outside the logbook is gone: %v", err)
	}
}

func TestSecondTabIsTold(t *testing.T) {
	t.Parallel()
	l := newLive(t)
	name := l.stills("Bittern")
	at := "/api/launches/" + name
	events := l.listen()
	var first desk.View
	l.want(200, "GET", at, "", &first)
	edit := func(title string) string {
		return fmt.Sprintf(`{"base":%q,"changes":[{"do":"describe","values":{"title":%q}}]}`, first.Revision, title)
	}
	var second desk.View
	l.want(200, "POST", at+"/edits", edit("Bittern, one"), &second)
	if second.Title != "Bittern, one" || second.Revision == first.Revision || !second.CanUndo {
		t.Errorf("after the edit: title %q, revision %q, can undo %v", second.Title, second.Revision, second.CanUndo)
	}
	if e := <-events; e.Kind != "launch" || e.Launch != name || e.Who != "tab-1" || e.Revision != second.Revision {
		t.Errorf("event = %+v, want the edit of tab-1", e)
	}
	// The other tab still stands on the first revision: nothing is overwritten.
	l.want(409, "POST", at+"/edits", edit("Bittern, two"), nil)
	var now desk.View
	l.want(200, "GET", at, "", &now)
	if now.Title != "Bittern, one" {
		t.Errorf("title = %q after a refused edit", now.Title)
	}
	l.want(200, "POST", at+"/undo", fmt.Sprintf(`{"base":%q}`, now.Revision), &now)
	if now.Title != "Bittern" || !now.CanRedo {
		t.Errorf("after undo: title %q, can redo %v", now.Title, now.CanRedo)
	}
	l.want(200, "POST", at+"/redo", fmt.Sprintf(`{"base":%q}`, now.Revision), &now)
	if now.Title != "Bittern, one" {
		t.Errorf("after redo: title %q", now.Title)
	}
	l.want(422, "POST", at+"/edits", `{"base":"x","changes":[]}`, nil)
	l.want(404, "POST", "/api/launches/nobody/measure", "", nil)
	l.want(404, "GET", "/api/jobs/j99", "", nil)
	l.want(404, "POST", "/api/jobs/j99/cancel", "", nil)
}

// eventWait is how long an event may take on a busy machine.
const eventWait = 30 * time.Second

// listen opens the stream of events and returns what comes.
func (l *live) listen() <-chan desk.Event {
	l.Helper()
	ctx, stop := context.WithTimeout(context.Background(), eventWait)
	l.Cleanup(stop)
	r, err := http.NewRequestWithContext(ctx, "GET", l.http.URL+"/api/events", nil)
	if err != nil {
		l.Fatal(err)
	}
	r.AddCookie(&http.Cookie{Name: l.server.pass.cookie, Value: l.server.pass.secret})
	got, err := http.DefaultClient.Do(r)
	if err != nil {
		l.Fatal(err)
	}
	if mime := got.Header.Get("Content-Type"); got.StatusCode != 200 || mime != "text/event-stream" {
		l.Fatalf("events = %d %s", got.StatusCode, mime)
	}
	out := make(chan desk.Event, 64)
	go func() {
		defer close(out)
		defer got.Body.Close()
		lines := bufio.NewScanner(got.Body)
		for lines.Scan() {
			data, ok := strings.CutPrefix(lines.Text(), "data: ")
			if !ok {
				continue
			}
			var e desk.Event
			if json.Unmarshal([]byte(data), &e) == nil {
				out <- e
			}
		}
	}()
	return out
}
