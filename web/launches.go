package web

import (
	"context"
	"net/http"
	"time"

	"padside/desk"
	"padside/fault"
	"padside/wording"
)

// tabHeader names the tab that asks, so that the others know that the change was not theirs.
const tabHeader = "Padside-Tab"

// named is the answer to what makes a launch.
type named struct {
	Name string `json:"name"`
}

func (s *Server) cards(w http.ResponseWriter, r *http.Request) {
	cards, err := s.desk.Cards(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if cards == nil {
		cards = []desk.Card{}
	}
	send(w, http.StatusOK, struct {
		Launches []desk.Card `json:"launches"`
	}{cards})
}

func (s *Server) addByPath(w http.ResponseWriter, r *http.Request) {
	var f desk.Fresh
	if err := read(w, r, &f); err != nil {
		s.fail(w, r, err)
		return
	}
	slow(w)
	name, err := s.desk.AddByPath(r.Context(), f)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	send(w, http.StatusOK, named{name})
}

// slow gives a handler longer to answer.
func slow(w http.ResponseWriter) {
	http.NewResponseController(w).SetWriteDeadline(time.Now().Add(digestWait))
}

func (s *Server) trash(w http.ResponseWriter, r *http.Request) {
	s.done(w, r, s.desk.Trash(r.PathValue("name")))
}

func (s *Server) restore(w http.ResponseWriter, r *http.Request) {
	s.done(w, r, s.desk.Restore(r.PathValue("name")))
}

func (s *Server) trashed(w http.ResponseWriter, r *http.Request) {
	list, err := s.desk.Trashed()
	if err != nil {
		s.fail(w, r, err)
		return
	}
	send(w, http.StatusOK, struct {
		Trash []desk.Aside `json:"trash"`
	}{list})
}

func (s *Server) takeBack(w http.ResponseWriter, r *http.Request) {
	s.done(w, r, s.desk.TakeBack(r.PathValue("name")))
}

func (s *Server) acceptFootage(w http.ResponseWriter, r *http.Request) {
	s.done(w, r, s.desk.AcceptFootage(r.PathValue("name")))
}

// done answers a request that has nothing to say but that it was done.
func (s *Server) done(w http.ResponseWriter, r *http.Request, err error) {
	if err != nil {
		s.fail(w, r, err)
		return
	}
	w.WriteHeader(http.StatusNoContent)
}

func (s *Server) sheet(w http.ResponseWriter, r *http.Request) {
	v, err := s.desk.Sheet(r.Context(), r.PathValue("name"), wanted(r))
	s.view(w, r, v, err)
}

// wanted are the units the reader wants, by the query: speed=mph, length=ft, acceleration=g.
func wanted(r *http.Request) wording.Units {
	q := r.URL.Query()
	return wording.Units{Speed: q.Get("speed"), Length: q.Get("length"), Acceleration: q.Get("acceleration")}
}

func (s *Server) setup(w http.ResponseWriter, r *http.Request) {
	v, err := s.desk.Setup(r.Context(), r.PathValue("name"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	send(w, http.StatusOK, v)
}

func (s *Server) view(w http.ResponseWriter, r *http.Request, v *desk.View, err error) {
	if err != nil {
		s.fail(w, r, err)
		return
	}
	send(w, http.StatusOK, v)
}

// lasting is the request's context without its end: an edit is carried through, measured and kept, though the tab goes away.
func lasting(r *http.Request) context.Context { return context.WithoutCancel(r.Context()) }

func (s *Server) edit(w http.ResponseWriter, r *http.Request) {
	var ask struct {
		Base    string        `json:"base"`
		Changes []desk.Change `json:"changes"`
	}
	err := read(w, r, &ask)
	if err == nil && len(ask.Changes) == 0 {
		err = fault.Requestf("send at least one change", "an edit without changes")
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	v, err := s.desk.Edit(lasting(r), r.PathValue("name"), ask.Base, r.Header.Get(tabHeader), ask.Changes, wanted(r))
	s.view(w, r, v, err)
}

func (s *Server) shareSetup(w http.ResponseWriter, r *http.Request) {
	var ask struct {
		Base  string `json:"base"`
		Setup string `json:"setup"`
	}
	if err := read(w, r, &ask); err != nil {
		s.fail(w, r, err)
		return
	}
	v, err := s.desk.ShareSetup(lasting(r), r.PathValue("name"), ask.Base, r.Header.Get(tabHeader), ask.Setup, wanted(r))
	s.view(w, r, v, err)
}

// base is the revision a change was made on.
type base struct {
	Base string `json:"base"`
}

func (s *Server) undo(w http.ResponseWriter, r *http.Request) {
	var b base
	if err := read(w, r, &b); err != nil {
		s.fail(w, r, err)
		return
	}
	v, err := s.desk.Undo(lasting(r), r.PathValue("name"), b.Base, r.Header.Get(tabHeader), wanted(r))
	s.view(w, r, v, err)
}

func (s *Server) redo(w http.ResponseWriter, r *http.Request) {
	var b base
	if err := read(w, r, &b); err != nil {
		s.fail(w, r, err)
		return
	}
	v, err := s.desk.Redo(lasting(r), r.PathValue("name"), b.Base, r.Header.Get(tabHeader), wanted(r))
	s.view(w, r, v, err)
}
