package web

import (
	"errors"
	"io"
	"net/http"
	"time"

	"padside/desk"
	"padside/fault"
)

func (s *Server) newImport(w http.ResponseWriter, r *http.Request) {
	i, err := s.desk.NewImport()
	if err != nil {
		s.fail(w, r, err)
		return
	}
	send(w, http.StatusOK, i)
}

// receive streams one file to the desk, which writes it to disk: whatever its size, a few kB of it are in memory.
func (s *Server) receive(w http.ResponseWriter, r *http.Request) {
	if r.ContentLength < 0 {
		s.refuse(w, r, http.StatusLengthRequired, refusal{Message: "the upload does not say how long it is",
			Hint: "send Content-Length, so that a cut-off is noticed"})
		return
	}
	body := &upload{body: r.Body, control: http.NewResponseController(w)}
	err := s.desk.Receive(r.Context(), r.PathValue("id"), r.PathValue("filename"), r.ContentLength, body)
	body.control.SetWriteDeadline(time.Now().Add(writeWait))
	if err != nil && (body.short || r.Context().Err() != nil) {
		err = fault.Requestf("send the file again; nothing of it was kept", "the upload of %q was cut off", clip(r.PathValue("filename"), 80))
	}
	s.done(w, r, err)
}

// upload reads a request's body for as long as bytes keep coming.
type upload struct {
	body    io.Reader
	control *http.ResponseController
	short   bool // it ended before its stated length
}

func (u *upload) Read(p []byte) (int, error) {
	now := time.Now()
	u.control.SetReadDeadline(now.Add(patience))
	u.control.SetWriteDeadline(now.Add(patience + writeWait))
	n, err := u.body.Read(p)
	if err != nil && !errors.Is(err, io.EOF) {
		u.short = true
	}
	return n, err
}

func (s *Server) finishImport(w http.ResponseWriter, r *http.Request) {
	var f desk.Fresh
	if err := read(w, r, &f); err != nil {
		s.fail(w, r, err)
		return
	}
	slow(w)
	name, err := s.desk.FinishImport(r.Context(), r.PathValue("id"), f)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	send(w, http.StatusOK, named{name})
}

func (s *Server) abandonImport(w http.ResponseWriter, r *http.Request) {
	s.done(w, r, s.desk.AbandonImport(r.PathValue("id")))
}
