package web

import (
	"bytes"
	"context"
	"io"
	"log"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"padside/desk"
	"padside/sheet"
	"padside/wording"
)

// broken is a desk with a fault: what lists launches and heats panics.
type broken struct{ Desk }

func (broken) Cards(context.Context) ([]desk.Card, error) { panic("a broken\nlist") }

func (broken) Heats(context.Context) ([]desk.HeatCard, error) { panic("a broken heat") }

func (broken) HeatMark(context.Context) (string, error) { panic("a broken mark") }

func (broken) HeatView(context.Context, string, wording.Units) (*sheet.Heat, error) {
	return nil, nil
}

func (broken) Jobs() []desk.Job { return nil }

func (broken) Watch(context.Context) <-chan desk.Event { return nil }

// logged collects what the log says while f runs. It is not for parallel tests.
func logged(f func()) string {
	var out bytes.Buffer
	was := log.Writer()
	log.SetOutput(&out)
	defer log.SetOutput(was)
	f()
	return out.String()
}

// A panic ends its request with status 500 and a plain sentence, on pages and beneath /api/ alike; one line is logged and the next request is answered.
func TestPanicEndsOneRequest(t *testing.T) {
	s := newServer(t, broken{})
	said := logged(func() {
		got := answer(s, ask(s, "GET", "/api/logbook", ""))
		if e := said(t, got); got.StatusCode != http.StatusInternalServerError || !strings.HasPrefix(e.Message, "a fault of the program itself, please report it: a broken list at web/unharmed_test.go:") {
			t.Errorf("status %d, %+v", got.StatusCode, e)
		}
	})
	if strings.Count(said, "\n") != 1 || !strings.Contains(said, "GET /api/logbook: a broken list") {
		t.Errorf("the log reads %q", said)
	}
	if got := answer(s, ask(s, "GET", "/api/jobs", "")); got.StatusCode != http.StatusOK {
		t.Errorf("the next request gives %d", got.StatusCode)
	}
}

// The board tells strangers nothing of a fault, and goes on.
func TestPanicOnTheBoard(t *testing.T) {
	said := logged(func() {
		b, err := NewBoard(t.Context(), broken{}, "club-day")
		if err != nil {
			t.Fatal(err)
		}
		w := httptest.NewRecorder()
		b.ServeHTTP(w, httptest.NewRequest("GET", "/", nil))
		if w.Code != http.StatusInternalServerError || strings.TrimSpace(w.Body.String()) != cannotShow {
			t.Errorf("the board gives %d %q", w.Code, w.Body.String())
		}
	})
	if !strings.Contains(said, "a broken heat") || !strings.Contains(said, "a broken mark") {
		t.Errorf("the log reads %q", said)
	}
}

// An answer that was begun is broken off: the browser sees that it is not whole.
func TestPanicBreaksOff(t *testing.T) {
	var fails error
	logged(func() {
		h := httptest.NewServer(unharmed(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			io.WriteString(w, strings.Repeat("half an answer ", 1000))
			panic("midway")
		}), nil))
		defer h.Close()
		got, err := http.Get(h.URL)
		if err != nil {
			t.Fatal(err)
		}
		defer got.Body.Close()
		_, fails = io.ReadAll(got.Body)
	})
	if fails == nil {
		t.Error("half an answer reads as a whole one")
	}
}

// A null for the interval of one answer of one launch, as a hand in an editor may leave it: the logbook opens, the launch is said not to be measured, and
// another is as it was.
func TestLogbookWithADamagedLaunch(t *testing.T) {
	t.Parallel()
	l := newLive(t)
	damaged, other := l.stills("Bittern"), l.stills("Crake")
	for name, text := range map[string]string{
		"answers.json":  `{"format":"padside-answers","footage":{"path":"x","frames":4},"answers":[{"id":"peak_speed","unit":"m/s","status":"measured","value":20,"standard_uncertainty":0.1,"interval95":null}],"trace":[],"history":[],"warnings":[]}`,
		"recorder.json": `{"format":"padside-recorder","of":"00","times":[],"lanes":[]}`,
	} {
		if err := os.WriteFile(filepath.Join(l.dir, "launches", damaged, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if got, _ := l.do("GET", "/", nil); got != http.StatusOK {
		t.Errorf("the logbook page gives %d", got)
	}
	const want = "is not measured: what was kept of it in answers.json is damaged: answer 1: peak_speed is measured without a finite interval"
	for _, c := range l.cards() {
		if c.Name == damaged && !strings.Contains(c.Problem, want) || c.Name == other && (c.Problem != "" || c.State != desk.StateNew) {
			t.Errorf("the card of %s reads %q, %q", c.Name, c.State, c.Problem)
		}
	}
	var v desk.View
	l.want(http.StatusOK, "GET", "/api/launches/"+damaged, "", &v)
	if v.State != desk.StateFailed || v.Problem == nil || !strings.Contains(v.Problem.Message, want) || v.Problem.Hint != "measure it again" {
		t.Errorf("the launch is %q, %+v", v.State, v.Problem)
	}
}
