package web

import (
	"context"
	"errors"
	"net"
	"net/http"
	"strconv"
	"testing"
	"time"

	"padside/desk"
	"padside/fault"
)

func TestListenRefusesATakenPort(t *testing.T) {
	t.Parallel()
	l, err := Listen(0)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	if host, _, _ := net.SplitHostPort(l.Addr().String()); !net.ParseIP(host).IsLoopback() {
		t.Errorf("listens on %s, want loopback only", host)
	}
	taken, err := strconv.Atoi(Port(l))
	if err != nil {
		t.Fatal(err)
	}
	for _, port := range []int{taken, -1, 70000} {
		_, err := Listen(port)
		var f *fault.Error
		if !errors.As(err, &f) || f.Kind != fault.Request || f.Hint == "" {
			t.Errorf("Listen(%d) = %v, want a request that is refused with a hint", port, err)
		}
	}
}

// quiet is a desk on which nothing happens.
type quiet struct{ Desk }

func (quiet) Watch(context.Context) <-chan desk.Event { return nil }
func (quiet) Cards(ctx context.Context) ([]desk.Card, error) {
	<-ctx.Done()
	return nil, ctx.Err()
}

// A page that listens for events, and a request that hangs, must not keep the server from ending.
func TestServeEndsWithItsContext(t *testing.T) {
	t.Parallel()
	l, err := Listen(0)
	if err != nil {
		t.Fatal(err)
	}
	s, err := New(quiet{}, Options{Port: Port(l)})
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error)
	go func() { ended <- s.Serve(ctx, l) }()
	for _, path := range []string{"/api/events", "/api/logbook"} {
		r, err := http.NewRequest("GET", "http://"+l.Addr().String()+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		r.AddCookie(&http.Cookie{Name: s.pass.cookie, Value: s.pass.secret})
		if path == "/api/logbook" {
			go http.DefaultClient.Do(r)
			continue
		}
		got, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer got.Body.Close()
	}
	stop()
	select {
	case err := <-ended:
		if err != nil {
			t.Errorf("Serve = %v, want nil", err)
		}
	case <-time.After(closeWait + 20*time.Second):
		t.Fatal("Serve goes on after its context ended")
	}
}
