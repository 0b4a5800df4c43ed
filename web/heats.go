package web

import (
	"net/http"

	"padside/desk"
	"padside/wording"
)

func (s *Server) heatsPage(w http.ResponseWriter, r *http.Request) {
	s.show(w, r, s.pages.heats, page{Title: "Heats", Here: "heats", Script: "heats.js", Style: "heat.css"})
}

func (s *Server) heatPage(w http.ResponseWriter, r *http.Request) {
	p, err := s.desk.HeatPage(r.Context(), r.PathValue("name"), wording.Units{})
	if err != nil {
		s.fail(w, r, err)
		return
	}
	title := p.Name
	if p.Form != nil && p.Form.Title != "" {
		title = p.Form.Title
	}
	s.show(w, r, s.pages.heat, page{Title: title, Here: "heat", Heat: p.Name, Board: s.board, Script: "heat.js", Style: "heat.css"})
}

// paperPolicy is that of a result sheet: one file that holds its own style and loads nothing.
const paperPolicy = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// heatSheet answers with a heat's result sheet, to look at or, with ?keep=1, to keep.
func (s *Server) heatSheet(w http.ResponseWriter, r *http.Request) {
	h, err := s.desk.HeatSheet(r.Context(), r.PathValue("name"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	data, err := h.HTML(wanted(r))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	w.Header().Set("Content-Security-Policy", paperPolicy)
	if r.URL.Query().Has("keep") {
		w.Header().Set("Content-Disposition", `attachment; filename="heat.html"`)
	}
	show(w, data, "text/html; charset=utf-8")
}

func (s *Server) heats(w http.ResponseWriter, r *http.Request) {
	list, err := s.desk.Heats(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	send(w, http.StatusOK, struct {
		Heats []desk.HeatCard `json:"heats"`
	}{list})
}

func (s *Server) newHeat(w http.ResponseWriter, r *http.Request) {
	var f desk.HeatForm
	err := read(w, r, &f)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	name, err := s.desk.NewHeat(f)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	send(w, http.StatusOK, named{name})
}

func (s *Server) heat(w http.ResponseWriter, r *http.Request) {
	slow(w)
	p, err := s.desk.HeatPage(r.Context(), r.PathValue("name"), wanted(r))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	send(w, http.StatusOK, p)
}

func (s *Server) putHeat(w http.ResponseWriter, r *http.Request) {
	var ask struct {
		Base string        `json:"base"`
		Form desk.HeatForm `json:"form"`
	}
	if err := read(w, r, &ask); err != nil {
		s.fail(w, r, err)
		return
	}
	s.done(w, r, s.desk.PutHeat(r.PathValue("name"), ask.Base, ask.Form))
}

func (s *Server) trashHeat(w http.ResponseWriter, r *http.Request) {
	s.done(w, r, s.desk.TrashHeat(r.PathValue("name")))
}
