package web

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"strconv"
	"syscall"
	"time"

	"padside/fault"
	"padside/guard"
)

// Deadlines of a request. They are what a healthy browser on the same machine never meets; an upload and a stream of
// events move theirs on as they go (patience).
const (
	headerWait = 10 * time.Second
	readWait   = 30 * time.Second
	writeWait  = time.Minute
	idleWait   = 2 * time.Minute
	patience   = time.Minute      // without a byte, an upload is given up
	digestWait = 30 * time.Minute // taking several GB into the logbook: they are read once for their digest
	closeWait  = 3 * time.Second  // for requests that are under way when the server ends
)

// Listen opens a loopback port; 0 lets the system choose one.
func Listen(port int) (net.Listener, error) {
	if port < 0 || port > 65535 {
		return nil, fault.Requestf("choose a port from 1 to 65535, or 0 for any free one", "%d is no port", port)
	}
	l, err := net.Listen("tcp", net.JoinHostPort("127.0.0.1", strconv.Itoa(port)))
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return nil, fault.Requestf("choose another with --port, or leave it out for any free one", "port %d is taken by another program", port)
	case errors.Is(err, syscall.EACCES):
		return nil, fault.Requestf("choose a port above 1023", "port %d may not be opened", port)
	case err != nil:
		return nil, fault.Requestf("choose another with --port, or leave it out for any free one", "port %d cannot be opened: %v", port, err)
	}
	return l, nil
}

// Port is the port a listener got.
func Port(l net.Listener) string {
	_, port, err := net.SplitHostPort(l.Addr().String())
	if err != nil { // the address of an open TCP listener always has a port
		panic(err)
	}
	return port
}

// Serve answers requests until ctx ends; those under way may finish, within closeWait. It closes the listener.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	h := &http.Server{
		Handler:           s,
		ReadHeaderTimeout: headerWait,
		ReadTimeout:       readWait,
		WriteTimeout:      writeWait,
		IdleTimeout:       idleWait,
		MaxHeaderBytes:    64 << 10,
	}
	return serveUntil(ctx, l, h, func() { close(s.closing) })
}

// serveUntil answers requests until ctx ends, calls closing, and gives those under way closeWait.
func serveUntil(ctx context.Context, l net.Listener, h *http.Server, closing func()) error {
	base, stop := context.WithCancel(context.WithoutCancel(ctx))
	defer stop()
	h.BaseContext = func(net.Listener) context.Context { return base }
	failed := guard.Go(func() error { return h.Serve(l) })
	select {
	case err := <-failed:
		return fmt.Errorf("serve: %w", err)
	case <-ctx.Done():
	}
	closing()
	wait, cancel := context.WithTimeout(base, closeWait)
	defer cancel()
	if err := h.Shutdown(wait); err != nil {
		stop()
		h.Close()
	}
	<-failed
	return nil
}
