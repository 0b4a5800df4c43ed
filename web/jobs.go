package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"time"

	"padside/desk"
)

func (s *Server) measure(w http.ResponseWriter, r *http.Request) {
	j, err := s.desk.Measure(r.PathValue("name"))
	s.oneJob(w, r, j, err)
}

func (s *Server) oneJob(w http.ResponseWriter, r *http.Request, j desk.Job, err error) {
	if err != nil {
		s.fail(w, r, err)
		return
	}
	send(w, http.StatusOK, j)
}

func (s *Server) jobs(w http.ResponseWriter, _ *http.Request) {
	list := s.desk.Jobs()
	if list == nil {
		list = []desk.Job{}
	}
	send(w, http.StatusOK, struct {
		Jobs []desk.Job `json:"jobs"`
	}{list})
}

func (s *Server) job(w http.ResponseWriter, r *http.Request) {
	j, err := s.desk.Job(r.PathValue("id"))
	s.oneJob(w, r, j, err)
}

func (s *Server) cancel(w http.ResponseWriter, r *http.Request) {
	s.done(w, r, s.desk.Cancel(r.PathValue("id")))
}

// A stream of events says something at least this often, so that both sides notice when the other is gone.
const heartbeat = 15 * time.Second

// events streams what changes, as server-sent events (HTML Living Standard, section 9.2).
func (s *Server) events(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("X-Accel-Buffering", "no")
	watched := s.desk.Watch(r.Context())
	control := http.NewResponseController(w)
	say := func(format string, args ...any) bool {
		control.SetWriteDeadline(time.Now().Add(writeWait))
		_, err := fmt.Fprintf(w, format, args...)
		return err == nil && control.Flush() == nil
	}
	if !say("retry: 1500\n\n") {
		return
	}
	beat := time.NewTicker(heartbeat)
	defer beat.Stop()
	for {
		alive := true
		select {
		case e, ok := <-watched:
			if !ok {
				return
			}
			data, err := json.Marshal(e)
			if err != nil {
				continue
			}
			alive = say("event: %s\ndata: %s\n\n", e.Kind, data)
		case <-beat.C:
			alive = say(": here\n\n")
		case <-s.closing:
			return
		case <-r.Context().Done():
			return
		}
		if !alive {
			return
		}
	}
}
