package desk

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"sync"

	"padside/fault"
	"padside/footage"
	"padside/guard"
	"padside/logbook"
)

// Desk is an open logbook and the work that is being done on it: what the pages ask for, one method each. Its methods may be
// called from several goroutines at once.
type Desk struct {
	book    *logbook.Logbook
	jobs    *jobs
	watch   *watchers
	shots   *shots
	witness *witness
	imports *imports
	heats   heats
	last    lastCompared
	ctx     context.Context // ends with Close
	stop    context.CancelFunc

	mu       sync.Mutex
	followed map[string]*kept // by launch: the last footage followed
	order    []string         // of followed, the oldest first
}

// kept is what was followed, and what for.
type kept struct {
	key  string // see followKey
	from *followed
}

// mostKept is how many launches' traces stay in memory, so that new questions are answered at once.
const mostKept = 8

// Open opens a logbook's desk; with make, a folder that is none becomes one.
func Open(dir string, make bool) (*Desk, error) {
	book, err := logbook.Open(dir, logbook.Options{Make: make})
	if err != nil {
		return nil, err
	}
	w := newWatchers()
	ctx, stop := context.WithCancel(context.Background())
	return &Desk{book: book, watch: w, jobs: newJobs(w.tell), shots: newShots(), witness: newWitness(ctx), imports: newImports(), ctx: ctx, stop: stop,
		followed: map[string]*kept{}}, nil
}

// Close ends all work and lets go of the logbook.
func (d *Desk) Close() error {
	d.stop()
	d.jobs.close()
	d.witness.close()
	d.shots.close()
	return d.book.Close()
}

// Dir is the logbook's folder.
func (d *Desk) Dir() string { return d.book.Dir() }

// Watch returns events until the context ends. A watcher that falls far behind loses some.
func (d *Desk) Watch(ctx context.Context) <-chan Event {
	events, stop := d.watch.add()
	guard.AfterDone(ctx, "end a watch", stop)
	guard.AfterDone(d.ctx, "end a watch", stop)
	return events
}

// Jobs lists the jobs, the newest last.
func (d *Desk) Jobs() []Job { return d.jobs.all() }

// Job returns one job.
func (d *Desk) Job(id string) (Job, error) { return d.jobs.get(id) }

// Cancel ends a job.
func (d *Desk) Cancel(id string) error { return d.jobs.stop(id) }

// Measure starts measuring a launch, or returns the job that is at it already.
func (d *Desk) Measure(name string) (Job, error) {
	if _, err := d.book.State(name); err != nil {
		return Job{}, err
	}
	return d.jobs.start(d.ctx, Job{Launch: name}, func(ctx context.Context, progress func(string, int, int)) error {
		return d.measure(ctx, name, Options{Progress: progress})
	}), nil
}

// resolved reads a launch as it stands, with what its setup adds.
func (d *Desk) resolved(name string) (*logbook.Launch, logbook.State, error) {
	s, err := d.book.State(name)
	if err != nil {
		return nil, s, err
	}
	l, err := d.book.ResolveText(name, s.Text)
	return l, s, err
}

// scaled is resolved, for a launch that can be measured: it says where its scale comes from.
func (d *Desk) scaled(name string) (*logbook.Launch, logbook.State, error) {
	l, s, err := d.resolved(name)
	if err == nil && l.Scale.Kind == "" {
		err = fault.Requestf("mark a rod, a length or a plane on its setup page", "nothing says where the scale of %s comes from", name)
	}
	return l, s, err
}

// measure follows a launch where that is needed, answers its questions and keeps what it found.
func (d *Desk) measure(ctx context.Context, name string, o Options) error {
	l, s, err := d.scaled(name)
	if err != nil {
		return err
	}
	f := d.recall(name, l)
	if f == nil {
		if f, err = followLaunch(ctx, l, o); err != nil {
			return err
		}
		d.remember(name, l, f)
	}
	m, err := f.answer(ctx, l, o)
	if err != nil {
		return err
	}
	if err := d.keep(ctx, name, s, m); err != nil {
		return err
	}
	d.watch.tell(Event{Kind: "launch", Launch: name, Revision: s.Revision})
	return nil
}

// keep stores a measurement of a launch as it stood in state s.
func (d *Desk) keep(ctx context.Context, name string, s logbook.State, m *Measurement) error {
	w, err := d.result(ctx, m, d.standing(m.Launch, s.Text))
	if err != nil {
		return err
	}
	return d.book.KeepWhole(name, w)
}

// result is all that is kept of a measurement: what measure --out writes, and what the pages are drawn from. The recorder decides whether it is there.
func (d *Desk) result(ctx context.Context, m *Measurement, of string) (logbook.Whole, error) {
	w := logbook.Whole{Last: recorderFile, Seal: func(digests map[string]string) ([]byte, error) {
		r := m.recorder(of)
		r.Files = digests
		return r.JSON()
	}}
	exposure := m.exposureOr(ctx, d.shots) // before the answers, whose warnings say what could not be drawn
	files, err := m.files()
	if err != nil {
		return w, err
	}
	digests := map[string]string{}
	for name, content := range files {
		digests[name] = digestOf(content)
	}
	if files[answersFile], err = m.sealed(digests); err != nil {
		return w, err
	}
	for i := range m.Lanes {
		if m.Lanes[i].band == nil {
			continue
		}
		if files[bandFile(m.Lanes[i].Path.Lane)], err = m.Lanes[i].bandPicture(); err != nil {
			return w, err
		}
	}
	if exposure != nil {
		files[exposureFile] = exposure
	}
	w.Files = files
	return w, ctx.Err()
}

// followKey is what following depends on: all of the launch but its scale, of which the way of the rod counts, its questions, its words and,
// where the vehicle is followed at all, the marks set by hand.
func followKey(l *logbook.Launch) string {
	t := l.Trace
	if t.Follow {
		t.Marks = nil
	}
	b, err := json.Marshal(struct {
		Footage   logbook.Footage
		Time      logbook.Time
		Trace     logbook.Trace
		DropCheck bool
		Rod       [2]float64
		Rises     bool
	}{l.Footage, l.Time, t, l.Questions.DropCheck, rodWay(l), rises(l)})
	if err != nil {
		return "" // never equal to another's
	}
	return digestOf(b)
}

// standing is the digest of all that the answers of a launch depend on but the footage: its file, and the setup it names.
func (d *Desk) standing(l *logbook.Launch, text []byte) string {
	if l == nil || l.Setup == "" {
		return digestOf(text)
	}
	setup := d.book.SetupText(l.Setup)
	if setup == nil {
		return digestOf(text)
	}
	return digestOf(append(append(append([]byte(nil), text...), 0), setup...))
}

func digestOf(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

// recall returns what was followed for a launch as it is now, with its marks; nil where it must be followed anew, for its footage is not as it was
// either.
func (d *Desk) recall(name string, l *logbook.Launch) *followed {
	lay, err := footage.Identify(l.Footage.Path)
	d.mu.Lock()
	defer d.mu.Unlock()
	k := d.followed[name]
	if k == nil || k.key == "" || k.key != followKey(l) || err != nil || !k.from.id.Unread(lay) {
		return nil
	}
	if !l.Trace.Follow {
		return k.from // its marks are in the key
	}
	seen, ok := k.from.seen.Marked(marksOf(l))
	if !ok {
		return nil
	}
	f := *k.from
	f.seen = seen
	return &f
}

// remember keeps what was followed for a launch.
func (d *Desk) remember(name string, l *logbook.Launch, f *followed) {
	d.mu.Lock()
	defer d.mu.Unlock()
	for i, n := range d.order {
		if n == name {
			d.order = append(d.order[:i], d.order[i+1:]...)
			break
		}
	}
	d.order = append(d.order, name)
	d.followed[name] = &kept{key: followKey(l), from: f}
	if len(d.order) > mostKept {
		delete(d.followed, d.order[0])
		d.order = d.order[1:]
	}
}
