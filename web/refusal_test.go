package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"testing"

	"padside/desk"
	"padside/fault"
	"padside/logbook"
)

// failing is a desk whose cards cannot be had.
type failing struct {
	Desk
	err error
}

func (f failing) Cards(context.Context) ([]desk.Card, error) { return nil, f.err }

func TestErrorsBecomeStatuses(t *testing.T) {
	t.Parallel()
	because := func(cause error) error {
		return &fault.Error{Kind: fault.Request, Message: "m", Hint: "h", Cause: cause}
	}
	for _, c := range []struct {
		name string
		err  error
		want int
		kind string
	}{
		{"unknown launch", because(logbook.ErrUnknown), http.StatusNotFound, ""},
		{"unknown job", because(desk.ErrUnknown), http.StatusNotFound, ""},
		{"edited elsewhere", because(fmt.Errorf("edit: %w", logbook.ErrConflict)), http.StatusConflict, ""},
		{"held by another process", because(logbook.ErrHeld), http.StatusLocked, ""},
		{"read-only", because(logbook.ErrReadOnly), http.StatusLocked, ""},
		{"wrong request", fault.Requestf("h", "m"), http.StatusUnprocessableEntity, ""},
		{"wrapped", fmt.Errorf("measure: %w", fault.Requestf("h", "m")), http.StatusUnprocessableEntity, ""},
		{"no answer", fault.NoAnswerf("h", "m"), http.StatusUnprocessableEntity, "no-answer"},
		{"broken", fault.Failedf(errors.New("disk"), "h", "m"), http.StatusInternalServerError, ""},
		{"nobody foresaw it", errors.New("m"), http.StatusInternalServerError, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s := newServer(t, failing{err: c.err})
			got := answer(s, ask(s, "GET", "/api/logbook", ""))
			e := said(t, got)
			if got.StatusCode != c.want || e.Kind != c.kind || e.Message != "m" || e.Hint == "" {
				t.Errorf("status %d, %+v; want %d, kind %q, message m and a hint", got.StatusCode, e, c.want, c.kind)
			}
		})
	}
}
