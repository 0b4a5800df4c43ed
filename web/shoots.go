package web

import (
	"net/http"

	"padside/desk"
)

func (s *Server) shootsPage(w http.ResponseWriter, r *http.Request) {
	s.show(w, r, s.pages.shoots, page{Title: "Shoots", Here: "shoots", Script: "shoots.js", Style: "plan.css"})
}

func (s *Server) planPage(w http.ResponseWriter, r *http.Request) {
	p, err := s.desk.PlanPage(r.Context(), r.PathValue("name"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.show(w, r, s.pages.plan, page{Title: p.Title, Here: "plan", Shoot: p.Name, Script: "plan.js", Style: "plan.css"})
}

func (s *Server) shoots(w http.ResponseWriter, r *http.Request) {
	list, err := s.desk.Shoots(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	send(w, http.StatusOK, struct {
		Shoots []desk.ShootCard `json:"shoots"`
		Sample string           `json:"sample"`
	}{list, desk.SampleShoot})
}

func (s *Server) newShoot(w http.ResponseWriter, r *http.Request) {
	var ask struct {
		Text string `json:"text"`
	}
	if err := read(w, r, &ask); err != nil {
		s.fail(w, r, err)
		return
	}
	name, err := s.desk.NewShoot(ask.Text)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	send(w, http.StatusOK, named{name})
}

func (s *Server) shoot(w http.ResponseWriter, r *http.Request) {
	p, err := s.desk.PlanPage(r.Context(), r.PathValue("name"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	send(w, http.StatusOK, p)
}

func (s *Server) putShoot(w http.ResponseWriter, r *http.Request) {
	var ask struct {
		Base string `json:"base"`
		Text string `json:"text"`
	}
	if err := read(w, r, &ask); err != nil {
		s.fail(w, r, err)
		return
	}
	s.done(w, r, s.desk.PutShoot(r.PathValue("name"), ask.Base, ask.Text))
}

func (s *Server) trashShoot(w http.ResponseWriter, r *http.Request) {
	s.done(w, r, s.desk.TrashShoot(r.PathValue("name")))
}

// plan starts working out a shoot; the body may ask to rehearse one of its modes: {"mode": 1, "takes": 2}.
func (s *Server) plan(w http.ResponseWriter, r *http.Request) {
	var ask struct {
		Mode  int `json:"mode"`
		Takes int `json:"takes"`
	}
	if err := read(w, r, &ask); err != nil {
		s.fail(w, r, err)
		return
	}
	j, err := s.desk.StartPlan(r.PathValue("name"), ask.Mode, ask.Takes)
	s.oneJob(w, r, j, err)
}
