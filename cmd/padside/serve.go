package main

import (
	"context"
	"fmt"
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
machine. The address holds a token drawn at each start; nothing is sent anywhere
else. Ctrl-C ends it.

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
	fmt.Fprintln(out, "Ctrl-C ends it.")
	if o.browser {
		openBrowser(s.Address())
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

// openBrowser shows the address where there is a display. The address is printed too, so that a failure costs nothing.
func openBrowser(address string) {
	var cmd *exec.Cmd
	switch {
	case runtime.GOOS == "darwin":
		cmd = exec.Command("open", address)
	case runtime.GOOS == "windows":
		cmd = exec.Command("rundll32", "url.dll,FileProtocolHandler", address)
	case os.Getenv("DISPLAY") != "" || os.Getenv("WAYLAND_DISPLAY") != "":
		cmd = exec.Command("xdg-open", address)
	default:
		return
	}
	if cmd.Start() == nil {
		guard.Alone("open the browser", func() { _ = cmd.Wait() })
	}
}
