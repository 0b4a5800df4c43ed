package web

import (
	"crypto/rand"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"runtime"
	"sync/atomic"
	"testing"
	"time"

	"padside/desk"
	"padside/scene"
	"padside/staged"
)

// BenchmarkLogbookOfAThousand is the server's time for the logbook page's data with 1,000 measured launches, beside
// the time it takes to read the same files from disk and do nothing with them.
func BenchmarkLogbookOfAThousand(b *testing.B) {
	dir, files := thousand(b)
	d, err := desk.Open(dir, true)
	if err != nil {
		b.Fatal(err)
	}
	defer d.Close()
	s, err := New(d, Options{Port: "80"})
	if err != nil {
		b.Fatal(err)
	}
	var page, plain time.Duration
	var first time.Duration
	for b.Loop() {
		start := time.Now()
		w := httptest.NewRecorder()
		s.ServeHTTP(w, ask(s, "GET", "/api/logbook", ""))
		if w.Code != http.StatusOK {
			b.Fatalf("logbook = %d %s", w.Code, w.Body)
		}
		took := time.Since(start)
		if first == 0 {
			first = took
		}
		page += took
		start = time.Now()
		for _, f := range files {
			if _, err := os.ReadFile(f); err != nil {
				b.Fatal(err)
			}
		}
		plain += time.Since(start)
	}
	b.ReportMetric(first.Seconds(), "s/first")
	b.ReportMetric(page.Seconds()/float64(b.N), "s/page")
	b.ReportMetric(page.Seconds()/plain.Seconds(), "x-plain-reading")
}

// thousand makes a logbook of 1,000 launches out of one that is really measured, and names their files.
func thousand(b *testing.B) (dir string, files []string) {
	b.Helper()
	dir = b.TempDir()
	name := "bittern"
	take := scene.BottleRocket(21, scene.BottleOptions{Rate: 1000, Width: 240, Height: 600})
	stills, launch := filepath.Join(dir, "footage", name), filepath.Join(dir, "launches", name)
	for _, d := range []string{stills, launch} {
		if err := os.MkdirAll(d, 0o755); err != nil {
			b.Fatal(err)
		}
	}
	if _, err := scene.WriteStills(b.Context(), take.Scene, stills, scene.StillsOptions{Format: scene.JPEG}); err != nil {
		b.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(launch, "launch.toml"), staged.LaunchText(take, "../../footage/"+name, 1), 0o644); err != nil {
		b.Fatal(err)
	}
	measured(b, dir, name)
	for i := range 999 {
		copied := filepath.Join(dir, "launches", fmt.Sprintf("%s-%03d", name, i))
		if err := os.CopyFS(copied, os.DirFS(launch)); err != nil {
			b.Fatal(err)
		}
	}
	files, err := filepath.Glob(filepath.Join(dir, "launches", "*", "*"))
	if err != nil {
		b.Fatal(err)
	}
	return dir, files
}

// measured opens a logbook, measures a launch in it and closes it.
func measured(b *testing.B, dir, name string) {
	b.Helper()
	d, err := desk.Open(dir, true)
	if err != nil {
		b.Fatal(err)
	}
	defer d.Close()
	j, err := d.Measure(name)
	for err == nil && !j.Over() {
		time.Sleep(50 * time.Millisecond)
		j, err = d.Job(j.ID)
	}
	if err != nil || j.State != desk.JobDone {
		b.Fatalf("measure: %v, %+v", err, j.Problem)
	}
}

// BenchmarkUpload streams 1 GiB to the logbook's disk, beside copying as much to a file there. The memory it takes at
// most shows that nothing is gathered.
func BenchmarkUpload(b *testing.B) {
	const size = 1 << 30
	dir := b.TempDir()
	d, err := desk.Open(dir, true)
	if err != nil {
		b.Fatal(err)
	}
	defer d.Close()
	l := httptest.NewUnstartedServer(nil)
	s, err := New(d, Options{Port: Port(l.Listener)})
	if err != nil {
		b.Fatal(err)
	}
	l.Config.Handler = s
	l.Start()
	defer l.Close()
	var sent, plain time.Duration
	var most atomic.Uint64
	watching := make(chan struct{})
	go watchMemory(&most, watching)
	defer close(watching)
	for b.Loop() {
		i, err := d.NewImport()
		if err != nil {
			b.Fatal(err)
		}
		r, err := http.NewRequest("PUT", l.URL+"/api/imports/"+i.ID+"/clip.mp4", io.LimitReader(rand.Reader, size))
		if err != nil {
			b.Fatal(err)
		}
		r.ContentLength = size
		r.AddCookie(&http.Cookie{Name: s.pass.cookie, Value: s.pass.secret})
		start := time.Now()
		got, err := http.DefaultClient.Do(r)
		if err != nil || got.StatusCode != 204 {
			b.Fatalf("PUT = %+v, %v", got, err)
		}
		got.Body.Close()
		sent += time.Since(start)
		if err := d.AbandonImport(i.ID); err != nil {
			b.Fatal(err)
		}
		plain += copyPlain(b, filepath.Join(dir, "plain"), size)
	}
	b.SetBytes(size)
	b.ReportMetric(float64(most.Load())/(1<<20), "MiB-heap-at-most")
	b.ReportMetric(sent.Seconds()/plain.Seconds(), "x-plain-copying")
}

// copyPlain writes as much to a file without a server between.
func copyPlain(b *testing.B, path string, size int64) time.Duration {
	b.Helper()
	start := time.Now()
	f, err := os.Create(path)
	if err != nil {
		b.Fatal(err)
	}
	defer os.Remove(path)
	defer f.Close()
	if _, err := io.Copy(f, io.LimitReader(rand.Reader, size)); err != nil {
		b.Fatal(err)
	}
	if err := f.Sync(); err != nil {
		b.Fatal(err)
	}
	return time.Since(start)
}

// watchMemory keeps the largest heap in use that it sees.
func watchMemory(most *atomic.Uint64, end <-chan struct{}) {
	for {
		select {
		case <-end:
			return
		case <-time.After(20 * time.Millisecond):
			var m runtime.MemStats
			runtime.ReadMemStats(&m)
			most.Store(max(most.Load(), m.HeapInuse))
		}
	}
}
