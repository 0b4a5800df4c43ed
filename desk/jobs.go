package desk

import (
	"context"
	"errors"
	"fmt"
	"sync"

	"padside/fault"
	"padside/guard"
)

// JobState says how far a job is.
type JobState string

// The states of a job.
const (
	JobWaiting   JobState = "waiting"
	JobRunning   JobState = "running"
	JobDone      JobState = "done"
	JobFailed    JobState = "failed"
	JobCancelled JobState = "cancelled"
)

// Job is long work on one launch, race or shoot, as the pages see it.
type Job struct {
	ID      string   `json:"id"`
	Launch  string   `json:"launch"`          // what it works on: a launch,
	Race    string   `json:"race,omitempty"`  // or a race
	Model   bool     `json:"model,omitempty"` // it fits the launch's flight model
	Shoot   string   `json:"shoot,omitempty"` // or a shoot: it plans or rehearses it
	Stage   string   `json:"stage"`
	Done    int      `json:"done"`
	Total   int      `json:"total"`
	State   JobState `json:"state"`
	Problem *Problem `json:"problem"`
}

// Over says whether nothing more will happen.
func (j *Job) Over() bool {
	return j.State == JobDone || j.State == JobFailed || j.State == JobCancelled
}

// words says what a job works on, for the log.
func (j *Job) words() string {
	switch {
	case j.Race != "":
		return "race " + j.Race
	case j.Shoot != "":
		return "shoot " + j.Shoot
	case j.Model:
		return "flight model of launch " + j.Launch
	}
	return "launch " + j.Launch
}

// Problem is an error as pages show it.
type Problem struct {
	Message string `json:"message"`
	Hint    string `json:"hint"`
	Kind    string `json:"kind"` // "request", "no-answer", "failed", "footage"
	Card    string `json:"-"`    // all of it in a few words, for a card; empty: the message
}

// problemOf words an error for a page.
func problemOf(err error) *Problem {
	if err == nil {
		return nil
	}
	p := &Problem{Message: err.Error(), Kind: "failed"}
	var f *fault.Error
	if errors.As(err, &f) {
		p.Message, p.Hint = f.Message, f.Hint
		switch f.Kind {
		case fault.Request:
			p.Kind = "request"
		case fault.NoAnswer:
			p.Kind = "no-answer"
		}
	}
	return p
}

// keptJobs is how many finished jobs are remembered.
const keptJobs = 50

// jobs runs one piece of work after another, one per launch at most, and tells who watches.
type jobs struct {
	mu     sync.Mutex
	turn   chan struct{} // held by the job that runs: measuring uses all cores by itself
	list   []*job
	number int
	tell   func(Event)
	over   *guard.Group
}

type job struct {
	Job
	cancel context.CancelFunc
}

func newJobs(tell func(Event)) *jobs {
	return &jobs{turn: make(chan struct{}, 1), tell: tell, over: guard.NewGroup()}
}

// start queues work on what about names, a launch or a race, and returns its job. What has one already gets that.
func (q *jobs) start(ctx context.Context, about Job, work func(ctx context.Context, progress func(stage string, done, total int)) error) Job {
	q.mu.Lock()
	for _, j := range q.list {
		if j.Launch == about.Launch && j.Race == about.Race && j.Model == about.Model && j.Shoot == about.Shoot && !j.Over() {
			defer q.mu.Unlock()
			return j.Job
		}
	}
	q.number++
	ctx, cancel := context.WithCancel(ctx)
	j := &job{Job: Job{ID: fmt.Sprintf("j%d", q.number), Launch: about.Launch, Race: about.Race, Model: about.Model, Shoot: about.Shoot, Stage: "waiting", State: JobWaiting}, cancel: cancel}
	q.list = append(q.list, j)
	q.forget()
	seen := j.Job
	q.mu.Unlock()
	q.tell(Event{Kind: "job", Job: &seen})
	q.over.Go(func() error {
		defer cancel()
		select {
		case q.turn <- struct{}{}:
			defer func() { <-q.turn }()
		case <-ctx.Done():
		}
		err := ctx.Err()
		if err == nil {
			q.change(j, func() { j.State = JobRunning })
			err = guard.Do(func() error { return work(ctx, q.progress(j)) })
			guard.Log(about.words(), err)
		}
		q.finish(ctx, j, err)
		return nil
	})
	return seen
}

// progress returns a function that tells of progress, at most once per percent and stage.
func (q *jobs) progress(j *job) func(stage string, done, total int) {
	return func(stage string, done, total int) {
		q.mu.Lock()
		step := max(1, total/100)
		same := stage == j.Stage && done/step == j.Done/step
		q.mu.Unlock()
		if !same {
			q.change(j, func() { j.Stage, j.Done, j.Total = stage, done, total })
		}
	}
}

func (q *jobs) finish(ctx context.Context, j *job, err error) {
	q.change(j, func() {
		switch {
		case err == nil:
			j.State, j.Done = JobDone, j.Total
		case ctx.Err() != nil:
			j.State = JobCancelled
		default:
			j.State, j.Problem = JobFailed, problemOf(err)
		}
	})
}

func (q *jobs) change(j *job, f func()) {
	q.mu.Lock()
	f()
	seen := j.Job
	q.mu.Unlock()
	q.tell(Event{Kind: "job", Job: &seen})
}

// forget drops the oldest finished jobs. The lock is held.
func (q *jobs) forget() {
	for i := 0; len(q.list) > keptJobs && i < len(q.list); {
		if q.list[i].Over() {
			q.list = append(q.list[:i], q.list[i+1:]...)
			continue
		}
		i++
	}
}

func (q *jobs) all() []Job {
	q.mu.Lock()
	defer q.mu.Unlock()
	out := make([]Job, 0, len(q.list))
	for _, j := range q.list {
		out = append(out, j.Job)
	}
	return out
}

func (q *jobs) get(id string) (Job, error) {
	q.mu.Lock()
	defer q.mu.Unlock()
	for _, j := range q.list {
		if j.ID == id {
			return j.Job, nil
		}
	}
	return Job{}, faultUnknown("job", id)
}

// of returns the newest job of a launch, nil where there is none.
func (q *jobs) of(launch string) *Job {
	return q.newest(func(j *job) bool { return j.Launch == launch && !j.Model })
}

// fitting returns the newest job that fits a launch's model, nil where there is none.
func (q *jobs) fitting(launch string) *Job {
	return q.newest(func(j *job) bool { return j.Launch == launch && j.Model })
}

// race returns the newest job of a race, nil where there is none.
func (q *jobs) race(id string) *Job { return q.newest(func(j *job) bool { return j.Race == id }) }

// shoot returns the newest job of a shoot, nil where there is none.
func (q *jobs) shoot(name string) *Job { return q.newest(func(j *job) bool { return j.Shoot == name }) }

func (q *jobs) newest(is func(*job) bool) *Job {
	q.mu.Lock()
	defer q.mu.Unlock()
	for i := len(q.list) - 1; i >= 0; i-- {
		if j := q.list[i]; is(j) {
			seen := j.Job
			return &seen
		}
	}
	return nil
}

// stop cancels a job; one that is over stays as it is.
func (q *jobs) stop(id string) error {
	q.mu.Lock()
	defer q.mu.Unlock()
	for _, j := range q.list {
		if j.ID == id {
			j.cancel()
			return nil
		}
	}
	return faultUnknown("job", id)
}

// close cancels all and waits for them.
func (q *jobs) close() {
	q.mu.Lock()
	for _, j := range q.list {
		j.cancel()
	}
	q.mu.Unlock()
	guard.Log("jobs", q.over.Wait())
}
