package web

import (
	"bufio"
	"bytes"
	"fmt"
	"image/png"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"padside/desk"
)

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
