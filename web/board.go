package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"strings"
	"sync"
	"time"

	"padside/desk"
	"padside/guard"
	"padside/logbook"
	"padside/sheet"
	"padside/wording"
)

// BoardDesk is what the board asks for.
type BoardDesk interface {
	Heats(ctx context.Context) ([]desk.HeatCard, error)
	HeatView(ctx context.Context, name string, want wording.Units) (*sheet.Heat, error)
	HeatMark(ctx context.Context) (string, error)
	Watch(ctx context.Context) <-chan desk.Event
}

// Board is the public page of a logbook's heats: for a screen, or a club's own network. It answers to anybody who reaches it, shows heats and
// nothing else, and changes nothing. It has its own listener and shares no path with the workbench.
type Board struct {
	desk    BoardDesk
	name    string
	page    *template.Template
	handler http.Handler
	closing chan struct{} // closed when streams of news shall end

	mu      sync.Mutex
	mark    string            // of what is shown
	changed chan struct{}     // closed when mark changes
	made    map[string][]byte // pages of this mark, by heat
	streams int
}

// Limits of a board: strangers may ask as much as they like.
const (
	mostStreams = 200              // pages that are told of changes at once; others look again by themselves
	lookAgain   = 10 * time.Second // files may be changed by other programs, which tell nobody
	settle      = 200 * time.Millisecond
)

// boardPolicy lets the page load its own style, script and fonts, and nothing more.
const boardPolicy = "default-src 'none'; style-src 'self'; script-src 'self'; font-src 'self'; img-src 'self'; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// boardFiles are the embedded files that the board gives out, by their path there.
var boardFiles = map[string]string{
	"/board.css": "static/board.css", "/board.js": "static/board.js", "/mark.svg": "static/mark.svg",
	"/fonts/source-serif-4.woff2": "static/fonts/source-serif-4.woff2", "/fonts/source-sans-3.woff2": "static/fonts/source-sans-3.woff2",
}

// cannotShow is what a stranger is told of an error: its words may name files, and are for the workbench.
const cannotShow = "the board cannot be shown now"

// NewBoard makes the board of a logbook. It looks after changes until ctx ends.
func NewBoard(ctx context.Context, d BoardDesk, name string) (*Board, error) {
	t, err := template.New("board.html").Funcs(template.FuncMap{"written": sheet.Written}).ParseFS(templates, "template/board.html")
	if err != nil {
		return nil, fmt.Errorf("parse template board: %w", err)
	}
	b := &Board{desk: d, name: name, page: t, closing: make(chan struct{}), changed: make(chan struct{}), made: map[string][]byte{}}
	m := http.NewServeMux()
	m.HandleFunc("GET /{$}", b.show)
	m.HandleFunc("GET /heat/{name}", b.show)
	m.HandleFunc("GET /news", b.news)
	for path := range boardFiles {
		m.HandleFunc("GET "+path, b.file)
	}
	b.handler = unharmed(b.guard(m), func(w http.ResponseWriter, _ *http.Request, status int, _ refusal) {
		http.Error(w, cannotShow, status)
	})
	b.look(ctx)
	guard.Alone("watch the heats", func() { b.watch(ctx) })
	return b, nil
}

func (b *Board) ServeHTTP(w http.ResponseWriter, r *http.Request) { b.handler.ServeHTTP(w, r) }

// guard lets nothing in but reading.
func (b *Board) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		head(w.Header())
		w.Header().Set("Content-Security-Policy", boardPolicy)
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			w.Header().Set("Allow", "GET, HEAD")
			http.Error(w, "this board is for reading", http.StatusMethodNotAllowed)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// watch keeps the mark until ctx ends.
func (b *Board) watch(ctx context.Context) {
	events := b.desk.Watch(ctx)
	beat := time.NewTicker(lookAgain)
	defer beat.Stop()
	late := time.NewTimer(0)
	defer late.Stop()
	for {
		select {
		case e, ok := <-events:
			if !ok {
				return
			}
			if e.Kind != "job" {
				late.Reset(settle) // several events in a row are one change
			}
		case <-late.C:
			b.look(ctx)
		case <-beat.C:
			b.look(ctx)
		case <-ctx.Done():
			return
		}
	}
}

// look finds out whether anything changed, and tells who waits.
func (b *Board) look(ctx context.Context) {
	var mark string
	err := guard.Do(func() (err error) { mark, err = b.desk.HeatMark(ctx); return err })
	if guard.Log("look at the heats", err); err != nil {
		return // shown again when it can be read
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if mark != b.mark {
		b.mark, b.made = mark, map[string][]byte{}
		close(b.changed)
		b.changed = make(chan struct{})
	}
}

// boardPage is what the template is given.
type boardPage struct {
	Logbook string
	Mark    string
	Paper   string
	Heat    *sheet.Heat
	Axis    sheet.Axis
	Size    string // how many lines there are: "few", "some", "many"
	Others  []desk.HeatCard
	Problem bool
}

func (b *Board) show(w http.ResponseWriter, r *http.Request) {
	name, paper := r.PathValue("name"), r.URL.Query().Get("paper")
	if paper != "dark" && paper != "light" {
		paper = ""
	}
	page, err := b.render(r.Context(), name, paper)
	switch {
	case errors.Is(err, logbook.ErrUnknown):
		http.NotFound(w, r)
		return
	case r.Context().Err() != nil:
		return
	case err != nil:
		guard.Log("board", err)
		http.Error(w, cannotShow, http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Write(page)
}

// render makes a page, or finds it made already. Without a name it is the heat changed last.
func (b *Board) render(ctx context.Context, name, paper string) ([]byte, error) {
	key := name + "\x00" + paper
	b.mu.Lock()
	mark, page := b.mark, b.made[key]
	b.mu.Unlock()
	if page != nil {
		return page, nil
	}
	list, err := b.desk.Heats(ctx)
	if err != nil {
		return nil, err
	}
	p := boardPage{Logbook: b.name, Mark: mark, Paper: paper}
	if name == "" && len(list) > 0 {
		name = list[0].Name
	}
	if name != "" {
		known := false
		for _, c := range list {
			if known = known || c.Name == name; c.Name != name && c.Problem == nil {
				p.Others = append(p.Others, c)
			}
		}
		if !known {
			return nil, logbook.ErrUnknown
		}
		if p.Heat, err = b.desk.HeatView(ctx, name, wording.Units{}); err != nil {
			if ctx.Err() != nil {
				return nil, err
			}
			p.Problem = true
		} else {
			p.fill()
		}
	}
	var out bytes.Buffer
	if err := b.page.Execute(&out, p); err != nil {
		return nil, fmt.Errorf("render board: %w", err)
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if mark == b.mark {
		b.made[key] = out.Bytes()
	}
	return out.Bytes(), nil
}

// fill works out what the heat's lines share.
func (p *boardPage) fill() {
	var placed []sheet.HeatLine
	for _, g := range p.Heat.Placed() {
		placed = append(placed, g.Lines...)
	}
	p.Axis = sheet.AxisOf(placed)
	switch n := len(p.Heat.Lines); {
	case n <= 4:
		p.Size = "few"
	case n <= 8:
		p.Size = "some"
	default:
		p.Size = "many"
	}
}

// At is where a value lies on the axis, %.
func (p boardPage) At(v *float64) float64 { return p.Axis.At(*v) }

// file gives out what the page is drawn with.
func (b *Board) file(w http.ResponseWriter, r *http.Request) {
	name := boardFiles[r.URL.Path]
	data, err := files.ReadFile(name)
	if err != nil {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Cache-Control", "no-cache")
	show(w, data, mimeOf(name))
}

// news tells a page the mark of what there is to see, at once and whenever it changes, as server-sent events.
func (b *Board) news(w http.ResponseWriter, r *http.Request) {
	b.mu.Lock()
	full := b.streams >= mostStreams
	if !full {
		b.streams++
	}
	b.mu.Unlock()
	if full {
		http.Error(w, "too many listen at once", http.StatusServiceUnavailable)
		return
	}
	defer func() {
		b.mu.Lock()
		b.streams--
		b.mu.Unlock()
	}()
	w.Header().Set("Content-Type", "text/event-stream")
	control := http.NewResponseController(w)
	beat := time.NewTicker(heartbeat)
	defer beat.Stop()
	said := ""
	for {
		b.mu.Lock()
		mark, changed := b.mark, b.changed
		b.mu.Unlock()
		line := ": here\n\n"
		if mark != said {
			said, line = mark, "retry: 3000\nevent: mark\ndata: "+mark+"\n\n"
		}
		control.SetWriteDeadline(time.Now().Add(writeWait))
		if _, err := strings.NewReader(line).WriteTo(w); err != nil || control.Flush() != nil {
			return
		}
		select {
		case <-changed:
		case <-beat.C:
		case <-b.closing:
			return
		case <-r.Context().Done():
			return
		}
	}
}
