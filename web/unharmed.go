package web

import (
	"net/http"

	"padside/guard"
)

// unharmed keeps a panic within its request: a line goes to the log, the browser is told by refuse, with status 500, and all else goes on.
// An answer that was begun is broken off, so that nobody takes it for a whole one.
func unharmed(next http.Handler, refuse func(http.ResponseWriter, *http.Request, int, refusal)) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		watched := &begun{ResponseWriter: w}
		err := guard.Do(func() error { next.ServeHTTP(watched, r); return nil })
		if err == nil {
			return
		}
		guard.Log(r.Method+" "+clip(r.URL.Path, 200), err)
		if watched.yes {
			panic(http.ErrAbortHandler) // the server's own way to break off; it says nothing more
		}
		status, said := statusOf(err)
		said.LetIn = true
		refuse(w, r, status, said)
	})
}

// begun notes whether an answer was begun. What it wraps is reached by http.ResponseController.
type begun struct {
	http.ResponseWriter
	yes bool
}

func (b *begun) WriteHeader(status int) {
	b.yes = true
	b.ResponseWriter.WriteHeader(status)
}

func (b *begun) Write(p []byte) (int, error) {
	b.yes = true
	return b.ResponseWriter.Write(p)
}

// Unwrap returns what is wrapped.
func (b *begun) Unwrap() http.ResponseWriter { return b.ResponseWriter }
