package main

import (
	"bufio"
	"context"
	"fmt"
	"html"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"

	"github.com/spf13/cobra"

	"padside/desk"
	"padside/guard"
	"padside/web"
)

const aboutServe = `Opens a logbook folder, or makes one, and serves its pages to the browser of this
machine. The address holds a token that lets one browser in, within a minute; Enter
prints another. Nothing is sent anywhere else. Ctrl-C ends it.

With --board the heats are shown to everyone who can reach that address, on a page of
its own that can be read and nothing more: for a screen at the field, or the club's
network. The workbench is not reachable there.`

// serving is how a logbook is served.
type serving struct {
	port    int
	browser bool
	board   string // the address at which the heats are shown to everyone; empty: nowhere
}

func newServe() *cobra.Command {
	var o serving
	var noBrowser bool
	cmd := &cobra.Command{
		Use:     "serve [LOGBOOK]",
		Short:   "Open a logbook in the browser",
		Long:    aboutServe,
		Example: "  padside serve my-logbook\n  padside serve my-logbook --board :8090",
		Args:    atMost(1, "one folder"),
		RunE: func(cmd *cobra.Command, args []string) error {
			dir := "."
			if len(args) == 1 {
				dir = args[0]
			}
			o.browser = !noBrowser
			at, err := o.open()
			if err != nil {
				return err
			}
			defer at.close()
			return o.serve(cmd.Context(), at, dir, cmd.OutOrStdout())
		},
	}
	cmd.Flags().IntVar(&o.port, "port", 0, "listen on port `N` (0: any free one)")
	cmd.Flags().BoolVar(&noBrowser, "no-browser", false, "only print the address")
	cmd.Flags().StringVar(&o.board, "board", "", "show the heats to everyone who can reach `HOST:PORT`")
	return cmd
}

// doors are where browsers come in.
type doors struct {
	workbench net.Listener
	board     net.Listener // nil where none is asked for
}

// open opens the doors, so that a port that cannot be had is said before anything else is done.
func (o serving) open() (d doors, err error) {
	if d.workbench, err = web.Listen(o.port); err != nil || o.board == "" {
		return d, err
	}
	if d.board, err = web.ListenBoard(o.board); err != nil {
		d.workbench.Close()
	}
	return d, err
}

func (d doors) close() {
	d.workbench.Close()
	if d.board != nil {
		d.board.Close()
	}
}

// serve serves a logbook until ctx ends.
func (o serving) serve(ctx context.Context, at doors, dir string, out io.Writer) (err error) {
	d, err := desk.Open(dir, true)
	if err != nil {
		return err
	}
	defer func() {
		if e := d.Close(); err == nil {
			err = e
		}
	}()
	w := web.Options{Port: web.Port(at.workbench), Name: nameOf(dir)}
	if at.board != nil {
		w.Board = web.BoardAddresses(at.board)[0]
	}
	s, err := web.New(d, w)
	if err != nil {
		return err
	}
	g, ctx := guard.WithContext(ctx)
	fmt.Fprintf(out, "padside serves %s at\n  %s\n", dir, s.Address())
	if at.board != nil {
		b, err := web.NewBoard(ctx, d, nameOf(dir))
		if err != nil {
			return err
		}
		fmt.Fprintln(out, "and shows its heats, and nothing else, to everyone who can reach")
		for _, address := range web.BoardAddresses(at.board) {
			fmt.Fprintf(out, "  %s\n", address)
		}
		g.Go(func() error { return b.Serve(ctx, at.board) })
	}
	fmt.Fprintln(out, "Ctrl-C ends it; Enter prints another address: each lets one browser in, within a minute.")
	guard.Alone("print addresses", func() { onEnter(os.Stdin, func() { fmt.Fprintf(out, "  %s\n", s.Address()) }) })
	if o.browser {
		forget, err := openBrowser(s.Address())
		if err == nil {
			defer forget()
		}
	}
	g.Go(func() error { return s.Serve(ctx, at.workbench) })
	return g.Wait()
}

func nameOf(dir string) string {
	if abs, err := filepath.Abs(dir); err == nil {
		dir = abs
	}
	return filepath.Base(dir)
}

// onEnter calls f for each line that comes, until no more do. A program in the background of a shell must not be stopped for reading.
func onEnter(in io.Reader, f func()) {
	heedlessOfTerminal()
	for lines := bufio.NewScanner(in); lines.Scan(); {
		f()
	}
}

// redirect writes a page that leads to an address into a file that only this user can read: the address itself, whose token lets in, must not stand
// in the list of processes.
func redirect(address string) (path string, err error) {
	f, err := os.CreateTemp("", "padside-*.html") // with mode 0600
	if err != nil {
		return "", err
	}
	_, err = fmt.Fprintf(f, "<!doctype html><meta charset=\"utf-8\"><meta name=\"referrer\" content=\"no-referrer\"><meta http-equiv=\"refresh\" content=\"0;url=%s\"><title>padside</title>\n", html.EscapeString(address))
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		os.Remove(f.Name())
	}
	return f.Name(), err
}

// openBrowser shows the address where there is a display, by a file that forget removes. The address is printed too, so that a failure costs
// nothing.
func openBrowser(address string) (forget func(), err error) {
	path, err := redirect(address)
	if err != nil {
		return nil, err
	}
	forget = func() { os.Remove(path) }
	var cmd *exec.Cmd
	switch {
	case runtime.GOOS == "darwin":
		cmd = exec.Command("open", path)
	case runtime.GOOS == "windows":
		cmd = exec.Command("rundll32", "url.dll,FileProtocolHandler", path)
	case os.Getenv("DISPLAY") != "" || os.Getenv("WAYLAND_DISPLAY") != "":
		cmd = exec.Command("xdg-open", path)
	default:
		return forget, nil
	}
	if cmd.Start() == nil {
		guard.Alone("open the browser", func() { _ = cmd.Wait() })
	}
	return forget, nil
}
