package desk

import "sync"

// Event tells who watches what changed.
type Event struct {
	Kind     string `json:"kind"` // "job", "launch" (edited or measured), "logbook" (added, removed), "heat" (added, changed, removed), "model" (fitted), "shoot" (added, changed, removed, planned)
	Job      *Job   `json:"job,omitempty"`
	Launch   string `json:"launch,omitempty"`
	Revision string `json:"revision,omitempty"`
	Who      string `json:"who,omitempty"` // the tab that edited
}

// eventRoom is how many events a slow watcher may lag behind before it loses some: it reads the state afresh then.
const eventRoom = 256

// watchers hands events to all who watch.
type watchers struct {
	mu  sync.Mutex
	all map[chan Event]struct{}
}

func newWatchers() *watchers { return &watchers{all: map[chan Event]struct{}{}} }

func (w *watchers) tell(e Event) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for c := range w.all {
		select {
		case c <- e:
		default: // too slow: the page's next read shows the state anyway
		}
	}
}

// add returns a channel of events and the function that ends it.
func (w *watchers) add() (events <-chan Event, stop func()) {
	c := make(chan Event, eventRoom)
	w.mu.Lock()
	w.all[c] = struct{}{}
	w.mu.Unlock()
	return c, func() {
		w.mu.Lock()
		defer w.mu.Unlock()
		if _, ok := w.all[c]; ok {
			delete(w.all, c)
			close(c)
		}
	}
}
