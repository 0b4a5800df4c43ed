package web_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
)

// client is a client that was let in by the printed address.
func (s *served) client(t *testing.T) *http.Client {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	c := &http.Client{Jar: jar}
	got, err := c.Get(s.enter)
	if err != nil {
		t.Fatal(err)
	}
	defer got.Body.Close()
	if page, err := io.ReadAll(got.Body); err != nil || got.StatusCode != 200 || !bytes.Contains(page, []byte("<h1>Logbook</h1>")) {
		t.Fatalf("the printed address gives %d %.300s, %v: want the logbook page", got.StatusCode, page, err)
	}
	return c
}

// call makes a request and returns status and answer.
func call(t *testing.T, c *http.Client, method, url string, body io.Reader) (int, string) {
	t.Helper()
	r, err := http.NewRequest(method, url, body)
	if err != nil {
		t.Fatal(err)
	}
	got, err := c.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer got.Body.Close()
	answer, err := io.ReadAll(got.Body)
	if err != nil {
		t.Fatal(err)
	}
	return got.StatusCode, string(answer)
}

// refused runs padside serve and wants status 2, what is wrong and a hint, and nothing on standard output.
func refused(t *testing.T, says string, args ...string) {
	t.Helper()
	cmd := exec.Command(program(t), append([]string{"serve", "--no-browser"}, args...)...)
	var out, complaint bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &complaint
	err := cmd.Run()
	var exit *exec.ExitError
	if !errors.As(err, &exit) || exit.ExitCode() != 2 {
		t.Fatalf("padside serve %s: %v %s, want status 2", strings.Join(args, " "), err, complaint.String())
	}
	lines := strings.Split(strings.TrimSpace(complaint.String()), "\n")
	if len(lines) != 2 || !strings.Contains(lines[0], says) || !strings.HasPrefix(lines[1], "hint: ") {
		t.Errorf("padside serve %s says %q, want one line with %q and a hint", strings.Join(args, " "), complaint.String(), says)
	}
	if out.Len() > 0 {
		t.Errorf("padside serve %s prints %q on standard output", strings.Join(args, " "), out.String())
	}
}

func TestServeRefuses(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "book")
	s := serve(t, dir)
	s.client(t)
	port := s.base[strings.LastIndex(s.base, ":")+1:]
	refused(t, "taken", t.TempDir(), "--port", port)
	refused(t, "no port", t.TempDir(), "--port", "70000")
	refused(t, "board's address 127.0.0.1:"+port+" is taken", t.TempDir(), "--board", "127.0.0.1:"+port)
	refused(t, "no address for the board", t.TempDir(), "--board", port)
	refused(t, "book", dir) // held by the first

	file := filepath.Join(t.TempDir(), "notes.txt")
	if err := os.WriteFile(file, []byte("notes"), 0o644); err != nil {
		t.Fatal(err)
	}
	refused(t, "notes.txt", file)
	refused(t, filepath.Base(filepath.Dir(file)), filepath.Dir(file)) // a folder of something else is left alone
	if left, err := os.ReadDir(filepath.Dir(file)); err != nil || len(left) != 1 {
		t.Errorf("a folder that is no logbook holds %d entries afterwards, %v", len(left), err)
	}
}

func TestServeMakesALogbookAndLetsGoOfIt(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "new", "book")
	for range 2 { // the second finds what the first left, and not its lock
		s := serve(t, dir)
		c := s.client(t)
		if status, answer := call(t, c, "GET", s.base+"/api/logbook", nil); status != 200 || answer != `{"launches":[]}` {
			t.Errorf("logbook = %d %s, want an empty one", status, answer)
		}
		s.end(t)
	}
}

// A disk that is full must cost nothing but the file that did not fit. A limit on the size of files stands in for it:
// the write fails in the same place.
func TestUploadOnAFullDisk(t *testing.T) {
	t.Parallel()
	if runtime.GOOS == "windows" {
		t.Skip("needs a shell that limits the size of files")
	}
	dir := filepath.Join(t.TempDir(), "book")
	s := serveAs(t, exec.Command("sh", "-c", `ulimit -f 64; exec "$0" serve "$1" --no-browser`, program(t), dir))
	c := s.client(t)
	_, answer := call(t, c, "POST", s.base+"/api/imports", strings.NewReader("{}"))
	id := strings.Split(answer, `"`)[3]
	status, answer := call(t, c, "PUT", fmt.Sprintf("%s/api/imports/%s/clip.mp4", s.base, id), bytes.NewReader(make([]byte, 1<<20)))
	if status != 500 || !strings.Contains(answer, "make room") {
		t.Errorf("an upload that does not fit = %d %s, want 500 that says to make room", status, answer)
	}
	if status, answer := call(t, c, "PUT", fmt.Sprintf("%s/api/imports/%s/clip.mp4", s.base, id), bytes.NewReader(make([]byte, 1<<10))); status != 204 {
		t.Errorf("a file that fits = %d %s, want 204: nothing of the other was kept", status, answer)
	}
	if status, answer := call(t, c, "GET", s.base+"/api/logbook", nil); status != 200 {
		t.Errorf("logbook = %d %s", status, answer)
	}
}
