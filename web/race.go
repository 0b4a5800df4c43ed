package web

import (
	"net/http"

	"padside/desk"
)

// raceOrder is what POST /api/races asks for.
type raceOrder struct {
	Launches []string `json:"launches"`
	Finish   string   `json:"finish"`    // "2 m"; empty: chosen
	Slow     float64  `json:"slow"`      // times slower than life; 0: chosen
	AsFilmed bool     `json:"as_filmed"` // each launch at its own scale
}

// race starts drawing a race, or returns it where it is there.
func (s *Server) race(w http.ResponseWriter, r *http.Request) {
	var o raceOrder
	err := read(w, r, &o)
	var v *desk.RaceView
	if err == nil {
		v, err = s.desk.Race(o.Launches, desk.RaceOptions{Finish: o.Finish, Slow: o.Slow, AsFilmed: o.AsFilmed})
	}
	s.oneRace(w, r, v, err)
}

func (s *Server) raceOf(w http.ResponseWriter, r *http.Request) {
	v, err := s.desk.RaceOf(r.PathValue("id"))
	s.oneRace(w, r, v, err)
}

func (s *Server) oneRace(w http.ResponseWriter, r *http.Request, v *desk.RaceView, err error) {
	if err != nil {
		s.fail(w, r, err)
		return
	}
	send(w, http.StatusOK, v)
}

// raceFile sends the clip or the photo finish; of a clip, browsers ask for parts.
func (s *Server) raceFile(w http.ResponseWriter, r *http.Request) {
	f, err := s.desk.RaceFile(r.PathValue("id"), r.PathValue("file"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		s.fail(w, r, err)
		return
	}
	slow(w)
	keep(w, r, "") // asked for again by its time of change
	http.ServeContent(w, r, f.Name(), info.ModTime(), f)
}
