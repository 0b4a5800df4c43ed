package web

import (
	"net/http"
)

func (s *Server) modelPage(w http.ResponseWriter, r *http.Request) {
	s.sheetPage(w, r, s.pages.model, page{Here: "model", Script: "flight.js", Style: "flight.css"})
}

// model answers with what was found of a launch's flight model.
func (s *Server) model(w http.ResponseWriter, r *http.Request) {
	v, err := s.desk.Model(r.Context(), r.PathValue("name"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	send(w, http.StatusOK, v)
}

// explain starts fitting the model; the body may name inputs that the footage alone decides: {"free": ["discharge"]}.
func (s *Server) explain(w http.ResponseWriter, r *http.Request) {
	var ask struct {
		Free []string `json:"free"`
	}
	if err := read(w, r, &ask); err != nil {
		s.fail(w, r, err)
		return
	}
	j, err := s.desk.StartExplain(r.PathValue("name"), ask.Free)
	s.oneJob(w, r, j, err)
}
