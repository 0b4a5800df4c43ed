package web

import (
	"context"
	"io"
	"net/http"
	"os"
	"time"

	"padside/desk"
	"padside/wording"
)

// Desk is what the pages ask for. *desk.Desk is it; tests that need a failure no real desk gives stand in for it.
type Desk interface {
	Cards(ctx context.Context) ([]desk.Card, error)
	Trash(name string) error
	Restore(name string) error
	Trashed() ([]desk.Aside, error)
	TakeBack(entry string) error

	NewImport() (desk.Import, error)
	Receive(ctx context.Context, id, filename string, size int64, r io.Reader) error
	FinishImport(ctx context.Context, id string, f desk.Fresh) (name string, err error)
	AbandonImport(id string) error
	AddByPath(ctx context.Context, f desk.Fresh) (name string, err error)

	Sheet(ctx context.Context, name string, want wording.Units) (*desk.View, error)
	Setup(ctx context.Context, name string) (*desk.SetupView, error)
	Edit(ctx context.Context, name, base, who string, e []desk.Change, want wording.Units) (*desk.View, error)
	ShareSetup(ctx context.Context, name, base, who, setup string, want wording.Units) (*desk.View, error)
	Undo(ctx context.Context, name, base, who string, want wording.Units) (*desk.View, error)
	Redo(ctx context.Context, name, base, who string, want wording.Units) (*desk.View, error)
	CompareNames(ctx context.Context, names []string, sweep string, repeats bool, want wording.Units) (*desk.CompareView, error)
	CompareModel(ctx context.Context, names []string, sweep string, want wording.Units) (*desk.CompareModelView, error)
	Race(names []string, o desk.RaceOptions) (*desk.RaceView, error)
	RaceOf(id string) (*desk.RaceView, error)
	RaceFile(id, name string) (*os.File, error)
	Model(ctx context.Context, name string) (*desk.ModelView, error)
	StartExplain(name string, free []string) (desk.Job, error)
	Picture(ctx context.Context, name, kind string, lane int) (data []byte, mime, etag string, err error)
	Frame(ctx context.Context, name string, i int, r desk.FrameRequest) (data []byte, mime string, err error)

	Heats(ctx context.Context) ([]desk.HeatCard, error)
	HeatPage(ctx context.Context, name string, want wording.Units) (*desk.HeatPage, error)
	HeatSheet(ctx context.Context, name string) (*desk.HeatSheet, error)
	NewHeat(f desk.HeatForm) (name string, err error)
	PutHeat(name, base string, f desk.HeatForm) error
	TrashHeat(name string) error

	Shoots(ctx context.Context) ([]desk.ShootCard, error)
	PlanPage(ctx context.Context, name string) (*desk.PlanPage, error)
	NewShoot(text string) (name string, err error)
	PutShoot(name, base, text string) error
	TrashShoot(name string) error
	StartPlan(name string, mode, takes int) (desk.Job, error)

	Measure(name string) (desk.Job, error)
	AcceptFootage(name string) error
	Jobs() []desk.Job
	Job(id string) (desk.Job, error)
	Cancel(id string) error
	Watch(ctx context.Context) <-chan desk.Event
}

// Options are what a server is told at its start.
type Options struct {
	Port  string // the port in the addresses by which browsers come
	Name  string // of the logbook, for the page's title
	Board string // where its board is shown; empty: nowhere
}

// Server answers the pages' requests. It is an http.Handler.
type Server struct {
	desk    Desk
	name    string
	board   string
	pass    pass
	hosts   []string
	pages   *pages
	handler http.Handler
	closing chan struct{} // closed when streams of events shall end
}

// New makes the server of a desk's pages.
func New(d Desk, o Options) (*Server, error) {
	p, err := parsePages()
	if err != nil {
		return nil, err
	}
	s := &Server{desk: d, name: o.Name, board: o.Board, pass: newPass(o.Port), hosts: loopbackHosts(o.Port), pages: p, closing: make(chan struct{})}
	s.handler = unharmed(s.guard(s.routes()), s.refuse)
	return s, nil
}

// Address is where a browser is let in, once and within a minute. Each call gives another.
func (s *Server) Address() string {
	return "http://" + s.hosts[0] + "/enter?token=" + s.pass.tokens.draw(time.Now())
}

func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

func (s *Server) routes() *http.ServeMux {
	m := http.NewServeMux()
	m.HandleFunc("GET /enter", s.enter)
	m.HandleFunc("GET /static/", s.static)
	m.HandleFunc("GET /{$}", s.logbookPage)
	m.HandleFunc("GET /launch/{name}", s.launchPage)
	m.HandleFunc("GET /setup/{name}", s.setupPage)
	m.HandleFunc("GET /model/{name}", s.modelPage)
	m.HandleFunc("GET /compare", s.comparePage)
	m.HandleFunc("GET /heats", s.heatsPage)
	m.HandleFunc("GET /heats/{name}", s.heatPage)
	m.HandleFunc("GET /heats/{name}/sheet", s.heatSheet)
	m.HandleFunc("GET /shoots", s.shootsPage)
	m.HandleFunc("GET /shoots/{name}", s.planPage)

	m.HandleFunc("GET /api/logbook", s.cards)
	m.HandleFunc("POST /api/launches", s.addByPath)
	m.HandleFunc("DELETE /api/launches/{name}", s.trash)
	m.HandleFunc("POST /api/trash/{name}/restore", s.restore)
	m.HandleFunc("GET /api/trash", s.trashed)
	m.HandleFunc("POST /api/trash/{name}/take-back", s.takeBack)

	m.HandleFunc("POST /api/imports", s.newImport)
	m.HandleFunc("PUT /api/imports/{id}/{filename}", s.receive)
	m.HandleFunc("POST /api/imports/{id}/finish", s.finishImport)
	m.HandleFunc("DELETE /api/imports/{id}", s.abandonImport)

	m.HandleFunc("GET /api/launches/{name}", s.sheet)
	m.HandleFunc("GET /api/launches/{name}/setup", s.setup)
	m.HandleFunc("POST /api/launches/{name}/edits", s.edit)
	m.HandleFunc("POST /api/launches/{name}/share", s.shareSetup)
	m.HandleFunc("POST /api/launches/{name}/undo", s.undo)
	m.HandleFunc("POST /api/launches/{name}/redo", s.redo)
	m.HandleFunc("POST /api/launches/{name}/measure", s.measure)
	m.HandleFunc("POST /api/launches/{name}/footage/accept", s.acceptFootage)
	m.HandleFunc("GET /api/launches/{name}/model", s.model)
	m.HandleFunc("POST /api/launches/{name}/model", s.explain)
	m.HandleFunc("GET /api/launches/{name}/frames/{frame}", s.frame)
	m.HandleFunc("GET /api/launches/{name}/pictures/{kind}", s.picture)

	m.HandleFunc("GET /api/compare", s.compare)
	m.HandleFunc("GET /api/compare/model", s.compareModel)
	m.HandleFunc("POST /api/races", s.race)
	m.HandleFunc("GET /api/races/{id}", s.raceOf)
	m.HandleFunc("GET /api/races/{id}/{file}", s.raceFile)

	m.HandleFunc("GET /api/heats", s.heats)
	m.HandleFunc("POST /api/heats", s.newHeat)
	m.HandleFunc("GET /api/heats/{name}", s.heat)
	m.HandleFunc("PUT /api/heats/{name}", s.putHeat)
	m.HandleFunc("DELETE /api/heats/{name}", s.trashHeat)

	m.HandleFunc("GET /api/shoots", s.shoots)
	m.HandleFunc("POST /api/shoots", s.newShoot)
	m.HandleFunc("GET /api/shoots/{name}", s.shoot)
	m.HandleFunc("PUT /api/shoots/{name}", s.putShoot)
	m.HandleFunc("DELETE /api/shoots/{name}", s.trashShoot)
	m.HandleFunc("POST /api/shoots/{name}/plan", s.plan)

	m.HandleFunc("GET /api/jobs", s.jobs)
	m.HandleFunc("GET /api/jobs/{id}", s.job)
	m.HandleFunc("POST /api/jobs/{id}/cancel", s.cancel)
	m.HandleFunc("GET /api/events", s.events)

	m.HandleFunc("GET /", s.nothing)
	return m
}

// nothing answers for addresses that lead nowhere.
func (s *Server) nothing(w http.ResponseWriter, r *http.Request) {
	s.refuse(w, r, http.StatusNotFound, refusal{Message: "there is nothing at " + clip(r.URL.Path, 80), Hint: "the logbook page shows what there is", LetIn: true})
}
