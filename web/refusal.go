package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"strings"

	"padside/desk"
	"padside/fault"
	"padside/guard"
	"padside/logbook"
)

// refusal is an error as a person reads it: what is wrong, what to do.
type refusal struct {
	Message string `json:"message"`
	Hint    string `json:"hint"`
	Kind    string `json:"kind,omitempty"` // "no-answer" where the footage holds none
	LetIn   bool   `json:"-"`              // the browser may see the other pages: the refusal's page leads there
}

// statusOf maps an error to a status and its words. The words of an error nobody foresaw are shown as they are: the
// reader is the person whose machine this is.
func statusOf(err error) (int, refusal) {
	var f *fault.Error
	if !errors.As(err, &f) {
		return http.StatusInternalServerError, refusal{Message: err.Error(), Hint: "nothing was changed; try again"}
	}
	said := refusal{Message: f.Message, Hint: f.Hint}
	switch {
	case errors.Is(err, desk.ErrUnknown), errors.Is(err, logbook.ErrUnknown):
		return http.StatusNotFound, said
	case errors.Is(err, logbook.ErrConflict):
		return http.StatusConflict, said
	case errors.Is(err, logbook.ErrHeld), errors.Is(err, logbook.ErrReadOnly):
		return http.StatusLocked, said
	case f.Kind == fault.NoAnswer:
		said.Kind = "no-answer"
		return http.StatusUnprocessableEntity, said
	case f.Kind == fault.Request:
		return http.StatusUnprocessableEntity, said
	}
	return http.StatusInternalServerError, said
}

// fail answers a request with an error. A browser that went away gets nothing.
func (s *Server) fail(w http.ResponseWriter, r *http.Request, err error) {
	if r.Context().Err() != nil && errors.Is(err, context.Canceled) {
		return
	}
	guard.Log(r.Method+" "+clip(r.URL.Path, 200), err)
	status, said := statusOf(err)
	said.LetIn = true
	s.refuse(w, r, status, said)
}

// refuse answers with a status and words: JSON to scripts, a page to people.
func (s *Server) refuse(w http.ResponseWriter, r *http.Request, status int, said refusal) {
	if strings.HasPrefix(r.URL.Path, "/api/") {
		send(w, status, struct {
			Error refusal `json:"error"`
		}{said})
		return
	}
	var page bytes.Buffer
	if err := s.pages.refusal.Execute(&page, said); err != nil {
		http.Error(w, said.Message+"\n"+said.Hint, status)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	w.Write(page.Bytes())
}

// send writes v as JSON. It is encoded first, so that a failure is an error and not half an answer.
func send(w http.ResponseWriter, status int, v any) {
	data, err := json.Marshal(v)
	if err != nil {
		http.Error(w, `{"error":{"message":"the answer cannot be written as JSON","hint":""}}`, http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	w.Write(data)
}

// mostBody is the largest request that is not an upload: thousands of changes fit.
const mostBody = 4 << 20

// read decodes a JSON request into v. An unknown key is refused: it would be lost silently.
func read(w http.ResponseWriter, r *http.Request, v any) error {
	d := json.NewDecoder(http.MaxBytesReader(w, r.Body, mostBody))
	d.DisallowUnknownFields()
	err := d.Decode(v)
	if err == nil && d.More() {
		err = errors.New("more than one value")
	}
	if err != nil {
		return fault.Requestf("send one JSON object with the keys that this address knows", "the request cannot be read: %v", err)
	}
	return nil
}
