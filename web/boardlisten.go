package web

import (
	"context"
	"errors"
	"net"
	"net/http"
	"strconv"
	"syscall"

	"padside/fault"
)

// ListenBoard opens the address that a board is shown at: HOST:PORT of this machine, or :PORT for all of its addresses.
func ListenBoard(address string) (net.Listener, error) {
	const shape = "write --board HOST:PORT with an address of this machine, such as 192.168.1.20:8090, or :8090 for all of them"
	_, port, err := net.SplitHostPort(address)
	if err != nil {
		return nil, fault.Requestf(shape, "%q is no address for the board", clip(address, 80))
	}
	if n, err := strconv.Atoi(port); err != nil || n < 0 || n > 65535 {
		return nil, fault.Requestf(shape, "%q is no port for the board", clip(port, 80))
	}
	l, err := net.Listen("tcp", address)
	var dns *net.DNSError
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return nil, fault.Requestf("choose another port with --board", "the board's address %s is taken by another program", address)
	case errors.Is(err, syscall.EADDRNOTAVAIL), errors.As(err, &dns):
		return nil, fault.Requestf(shape, "the board's address %s is none of this machine's", address)
	case errors.Is(err, syscall.EACCES):
		return nil, fault.Requestf("choose a port above 1023", "the board's port %s may not be opened", port)
	case err != nil:
		return nil, fault.Requestf(shape, "the board's address %s cannot be opened: %v", address, err)
	}
	return l, nil
}

// BoardAddresses are where a board can be seen: its own address, or all of this machine's where it listens on all. There is at least one.
func BoardAddresses(l net.Listener) []string {
	at, ok := l.Addr().(*net.TCPAddr)
	if !ok || !at.IP.IsUnspecified() {
		return []string{"http://" + l.Addr().String() + "/"}
	}
	var out []string
	list, _ := net.InterfaceAddrs() // what cannot be listed is not printed; the board is there all the same
	for _, a := range list {
		if ip, ok := a.(*net.IPNet); ok && !ip.IP.IsLinkLocalUnicast() {
			out = append(out, "http://"+net.JoinHostPort(ip.IP.String(), strconv.Itoa(at.Port))+"/")
		}
	}
	if len(out) == 0 {
		out = []string{"http://127.0.0.1:" + strconv.Itoa(at.Port) + "/"}
	}
	return out
}

// Serve shows the board until ctx ends. It closes the listener. Strangers get less room than the person at this machine.
func (b *Board) Serve(ctx context.Context, l net.Listener) error {
	h := &http.Server{Handler: b, ReadHeaderTimeout: headerWait, ReadTimeout: headerWait, WriteTimeout: writeWait, IdleTimeout: idleWait, MaxHeaderBytes: 16 << 10}
	return serveUntil(ctx, l, h, func() { close(b.closing) })
}
