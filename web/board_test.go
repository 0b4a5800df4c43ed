package web

import (
	"bufio"
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"padside/desk"
	"padside/wording"
)

// raised is a board on a real desk whose logbook holds a heat of two launches that were never measured, and of one that is not there.
func raised(t *testing.T) (b *httptest.Server, d *desk.Desk, dir string) {
	t.Helper()
	dir = t.TempDir()
	d, err := desk.Open(dir, true)
	if err != nil {
		t.Fatal(err)
	}
	put := func(path, text string) {
		t.Helper()
		if err := os.MkdirAll(filepath.Join(dir, filepath.Dir(path)), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, path), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range []string{"avocet", "bunting"} {
		put("launches/"+name+"/launch.toml", "format = 1\ntitle = \"<img src=x onerror=alert(1)> "+name+"\"\n[footage]\npath = \"secret/"+name+".mp4\"\n[scale]\nkind = \"length\"\nlength = \"1.2(1) m\"\nends = [ { x = 1.0, y = 1.0 }, { x = 1.0, y = 200.0 } ]\n")
	}
	put("heats/spring/heat.toml", "format = 1\ntitle = \"Spring </title><script>alert(1)</script>\"\n[question]\nanswer = \"peak_speed\"\n[[entry]]\nlaunch = \"../../launches/avocet/launch.toml\"\n[[entry]]\nlaunch = \"../../launches/bunting/launch.toml\"\n[[entry]]\nlaunch = \"../../launches/vanished/launch.toml\"\nname = \"Lost\"\n")
	put("heats/broken/heat.toml", "format = 1\n[question]\nanswer = \"peak_sped\"\n")
	old := time.Now().Add(-time.Hour)
	if err := os.Chtimes(filepath.Join(dir, "heats/broken/heat.toml"), old, old); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	board, err := NewBoard(ctx, d, "club-day")
	if err != nil {
		t.Fatal(err)
	}
	b = httptest.NewServer(board)
	t.Cleanup(func() {
		stop()
		b.CloseClientConnections()
		b.Close()
		if err := d.Close(); err != nil {
			t.Error(err)
		}
	})
	return b, d, dir
}

func ofBoard(t *testing.T, method, url string) (int, string) {
	t.Helper()
	r, err := http.NewRequest(method, url, strings.NewReader("{}"))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Origin", "http://elsewhere.example")
	got, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer got.Body.Close()
	text, err := io.ReadAll(got.Body)
	if err != nil {
		t.Fatal(err)
	}
	if got.Header.Get("Content-Security-Policy") != boardPolicy || got.Header.Get("Set-Cookie") != "" {
		t.Errorf("%s %s: headers %v", method, url, got.Header)
	}
	return got.StatusCode, string(text)
}

var route = regexp.MustCompile(`HandleFunc\("([A-Z]+) ([^"]+)"`)

// TestBoardShowsNothingElse asks the board for every path that the workbench knows, by the routes in its source, and wants none but its own; and
// wants every request but reading refused.
func TestBoardShowsNothingElse(t *testing.T) {
	t.Parallel()
	b, _, _ := raised(t)
	source, err := os.ReadFile("server.go")
	if err != nil {
		t.Fatal(err)
	}
	routes := route.FindAllStringSubmatch(string(source), -1)
	if len(routes) < 25 {
		t.Fatalf("found %d routes of the workbench in its source", len(routes))
	}
	for _, r := range routes {
		path := strings.NewReplacer("{$}", "", "{name}", "avocet", "{id}", "j1", "{frame}", "0", "{kind}", "exposure", "{filename}", "x.mp4").Replace(r[2])
		if path == "/" {
			continue
		}
		for _, p := range []string{path, path + "?token=x"} {
			if status, text := ofBoard(t, "GET", b.URL+p); status != 404 || strings.Contains(text, "avocet") {
				t.Errorf("GET %s = %d %.80s on the board, want 404", p, status, text)
			}
		}
		if status, _ := ofBoard(t, "POST", b.URL+path); status != 405 {
			t.Errorf("POST %s = %d on the board, want 405", path, status)
		}
	}
	for _, path := range []string{"/", "/news", "/heat/spring", "/board.css"} {
		for _, method := range []string{"POST", "PUT", "DELETE", "PATCH", "OPTIONS"} {
			if status, _ := ofBoard(t, method, b.URL+path); status != 405 {
				t.Errorf("%s %s = %d, want 405", method, path, status)
			}
		}
	}
	for _, path := range []string{"/heat/nobody", "/heat/..%2f..%2flaunches", "/heat/.", "/launches/avocet/launch.toml", "/static/paper.css", "/static/js/logbook.js", "/board.css/x", "//heat/spring/x"} {
		if status, _ := ofBoard(t, "GET", b.URL+path); status != 404 {
			t.Errorf("GET %s = %d, want 404", path, status)
		}
	}
	for path := range boardFiles {
		if status, _ := ofBoard(t, "GET", b.URL+path); status != 200 {
			t.Errorf("GET %s = %d, want 200", path, status)
		}
	}
}

func TestBoardPage(t *testing.T) {
	t.Parallel()
	b, _, dir := raised(t)
	status, page := ofBoard(t, "GET", b.URL+"/")
	if status != 200 {
		t.Fatalf("the board = %d %.200s", status, page)
	}
	for _, want := range []string{"Spring &lt;/title&gt;&lt;script&gt;", "&lt;img src=x onerror=alert(1)&gt; avocet", "waiting to be measured", "Lost", "no result"} {
		if !strings.Contains(page, want) {
			t.Errorf("the board lacks %q:\n%s", want, page)
		}
	}
	// What could not be measured may name files; those are for the workbench alone.
	for _, not := range []string{"<img", "alert(1)</script>", "secret", dir, "launch.toml", "launches/", "vanished\""} {
		if strings.Contains(page, not) {
			t.Errorf("the board shows %q:\n%s", not, page)
		}
	}
	if status, page = ofBoard(t, "GET", b.URL+"/heat/broken"); status != 200 || !strings.Contains(page, "cannot be shown now") || strings.Contains(page, "sped") || !strings.Contains(page, "/heat/spring") {
		t.Errorf("a heat that cannot be read = %d\n%s", status, page)
	}
	if status, page = ofBoard(t, "GET", b.URL+"/heat/spring?paper=%22%3E%3Cscript%3E"); status != 200 || strings.Contains(page, "data-paper") {
		t.Errorf("a paper that is none = %d\n%s", status, page)
	}
}

// TestBoardIsTold: a page that listens gets the mark at once, and another when a heat changes.
func TestBoardIsTold(t *testing.T) {
	t.Parallel()
	b, d, _ := raised(t)
	ctx, stop := context.WithTimeout(context.Background(), eventWait)
	defer stop()
	r, err := http.NewRequestWithContext(ctx, "GET", b.URL+"/news", nil)
	if err != nil {
		t.Fatal(err)
	}
	got, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer got.Body.Close()
	lines := bufio.NewScanner(got.Body)
	mark := func() string {
		for lines.Scan() {
			if data, ok := strings.CutPrefix(lines.Text(), "data: "); ok {
				return data
			}
		}
		t.Fatalf("the stream ended: %v", lines.Err())
		return ""
	}
	first := mark()
	if _, page := ofBoard(t, "GET", b.URL+"/"); !strings.Contains(page, `data-mark="`+first+`"`) {
		t.Errorf("the page does not carry the mark %s", first)
	}
	p, err := d.HeatPage(ctx, "spring", wording.Units{})
	if err != nil || p.Form == nil {
		t.Fatalf("the heat's page: %+v, %v", p, err)
	}
	p.Form.Title = "Autumn"
	if err := d.PutHeat("spring", p.Revision, *p.Form); err != nil {
		t.Fatal(err)
	}
	if second := mark(); second == first {
		t.Error("the mark did not change with the heat")
	}
	if _, page := ofBoard(t, "GET", b.URL+"/"); !strings.Contains(page, "<h1>Autumn</h1>") {
		t.Errorf("the board does not show the change:\n%s", page)
	}
}

func TestListenBoardRefuses(t *testing.T) {
	t.Parallel()
	taken, err := ListenBoard("127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer taken.Close()
	if got := BoardAddresses(taken); len(got) != 1 || got[0] != "http://"+taken.Addr().String()+"/" {
		t.Errorf("addresses %v", got)
	}
	for address, says := range map[string]string{
		taken.Addr().String(): "taken", "8090": "is no address", "": "is no address", "127.0.0.1:99999": "no port", "127.0.0.1:http": "no port",
		"192.0.2.1:0": "none of this machine's", // TEST-NET-1, RFC 5737
	} {
		if l, err := ListenBoard(address); err == nil {
			l.Close()
			t.Errorf("%q was opened", address)
		} else if status, said := statusOf(err); status != 422 || !strings.Contains(said.Message, says) || said.Hint == "" {
			t.Errorf("%q: %d %+v, want %q and a hint", address, status, said, says)
		}
	}
}
