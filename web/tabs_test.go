package web

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"padside/desk"
)

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
