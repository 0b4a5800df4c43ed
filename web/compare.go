package web

import (
	"net/http"

	"padside/fault"
)

// mostCompared is how many launches may be compared at once: pairs grow with its square.
const mostCompared = 24

func (s *Server) comparePage(w http.ResponseWriter, r *http.Request) {
	s.show(w, r, s.pages.compare, page{Title: "Compare", Here: "compare", Script: "compare.js", Style: "compare.css"})
}

// chosen is which launches are asked for.
func chosen(r *http.Request) ([]string, error) {
	names := r.URL.Query()["launch"]
	if len(names) > mostCompared {
		return nil, fault.Requestf("choose fewer on the logbook page", "%d launches are too many to compare; %d are the most", len(names), mostCompared)
	}
	if len(names) == 0 {
		return nil, fault.Requestf("choose launches on the logbook page", "no launch was chosen to compare")
	}
	return names, nil
}

// compare answers GET /api/compare?launch=a&launch=b[&sweep=water][&repeats=1].
func (s *Server) compare(w http.ResponseWriter, r *http.Request) {
	names, err := chosen(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	q := r.URL.Query()
	slow(w)
	v, err := s.desk.CompareNames(r.Context(), names, q.Get("sweep"), q.Get("repeats") == "1", wanted(r))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	send(w, http.StatusOK, v)
}

// compareModel answers GET /api/compare/model?launch=a&launch=b&sweep=water: the flight model fitted to launches swept.
func (s *Server) compareModel(w http.ResponseWriter, r *http.Request) {
	names, err := chosen(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	slow(w)
	v, err := s.desk.CompareModel(r.Context(), names, r.URL.Query().Get("sweep"), wanted(r))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	send(w, http.StatusOK, v)
}
