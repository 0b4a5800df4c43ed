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

// compare answers GET /api/compare?launch=a&launch=b[&sweep=water][&repeats=1].
func (s *Server) compare(w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	names := q["launch"]
	if len(names) > mostCompared {
		s.fail(w, r, fault.Requestf("choose fewer on the logbook page", "%d launches are too many to compare; %d are the most", len(names), mostCompared))
		return
	}
	if len(names) == 0 {
		s.fail(w, r, fault.Requestf("choose launches on the logbook page", "no launch was chosen to compare"))
		return
	}
	slow(w)
	v, err := s.desk.CompareNames(r.Context(), names, q.Get("sweep"), q.Get("repeats") == "1", wanted(r))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	send(w, http.StatusOK, v)
}
