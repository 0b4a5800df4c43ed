package desk

import (
	"cmp"
	"context"
	"fmt"
	"path/filepath"

	"padside/fault"
	"padside/flight"
	"padside/footage"
	"padside/logbook"
	"padside/motion"
	"padside/predict"
	"padside/shoot"
)

// PlanSheet is a plan, or a plan with its rehearsal, in the shape of the contract. SI.
type PlanSheet struct {
	Format   string          `json:"format"` // "padside-plan"
	Version  int             `json:"version"`
	Program  string          `json:"program"`
	Seed     uint64          `json:"seed"`
	Title    string          `json:"title"`
	Options  []*shoot.Option `json:"options"`
	Pictures []shoot.Caught  `json:"pictures"`
	StandOff *float64        `json:"stand_off_m"` // null: none is given, the local code decides
	Warnings []fault.Warning `json:"warnings"`

	shoot  shoot.Shoot
	id     *footage.Identity // of the launch whose motion is expected; nil: there is none
	flysAs string            // whose motion is expected; empty: it is stated
}

// JSON returns the sheet with a final line break.
func (s *PlanSheet) JSON() ([]byte, error) { return indented(s) }

// Plan reads a shoot file and works out what its footage would show and answer.
func Plan(ctx context.Context, path string, o Options) (*PlanSheet, error) {
	f, id, err := readShoot(ctx, path, o)
	if err != nil {
		return nil, err
	}
	seed := max(1, o.Seed)
	p, err := f.Shoot.Plan(ctx, seed, o.Progress)
	if err != nil {
		return nil, err
	}
	return &PlanSheet{Format: "padside-plan", Version: 1, Program: Program, Seed: seed, Title: f.Shoot.Title, Options: p.Options, Pictures: p.Pictures,
		StandOff: p.StandOff, Warnings: p.Warnings, shoot: f.Shoot, id: id, flysAs: flysAs(f)}, nil
}

// flysAs names the launch or the flight file whose motion a shoot expects.
func flysAs(f *logbook.ShootFile) string {
	name := filepath.Base(cmp.Or(f.Launch, f.Flight, "."))
	switch name {
	case ".":
		return ""
	case "launch.toml": // in a folder that has the launch's name
		name = filepath.Base(filepath.Dir(f.Launch))
	}
	return name
}

// readShoot reads a shoot file with the motion it expects, which may be that of a launch, measured now, or of a flight file, flown now. id is the
// footage of that launch; nil: there is none.
func readShoot(ctx context.Context, path string, o Options) (f *logbook.ShootFile, id *footage.Identity, err error) {
	if f, err = logbook.ReadShoot(path); err != nil {
		return nil, nil, err
	}
	e := &f.Shoot.Expected
	switch {
	case f.Flight != "":
		err = expectFlight(f.Flight, e)
	case f.Launch != "":
		id, err = expectLaunch(ctx, f.Launch, o, e)
	}
	return f, id, err
}

// expectFlight flies a flight file with its inputs as stated.
func expectFlight(path string, e *shoot.Expected) error {
	file, err := logbook.ReadFlight(path)
	if err != nil {
		return err
	}
	if e.Kind != motion.AnyKind && string(e.Kind) != file.Kind {
		return fault.Requestf(fmt.Sprintf("write kind = %q, or leave it out", file.Kind), "[motion] says kind = %q, its flight file %s is of a %s", e.Kind, path, file.Kind)
	}
	model := predict.Model{File: file}
	in := model.Best()
	w, err := model.Fly(in)
	if err != nil {
		return err
	}
	e.Motion, e.Kind, e.Pressure = shoot.Flown{Flight: w.Flight}, motion.Kind(file.Kind), in.Value["pressure"]
	return nil
}

// expectLaunch measures a launch and takes its best motion.
func expectLaunch(ctx context.Context, path string, o Options, e *shoot.Expected) (*footage.Identity, error) {
	m, err := Measure(ctx, path, o)
	if err != nil {
		return nil, err
	}
	first, ok := m.firstMotion()
	if !ok {
		return nil, fault.NoAnswerf("give acceleration and top_speed instead", "%s: first motion of the expected launch is not known", path)
	}
	var rows shoot.Recorded
	for _, h := range m.Lanes[0].Motion.History {
		if h.T > first {
			rows = append(rows, shoot.Row{T: h.T - first, State: flight.State{Height: h.Height, Speed: h.Speed, Acceleration: h.Acceleration}})
		}
	}
	if len(rows) < 2 {
		return nil, fault.NoAnswerf("give acceleration and top_speed instead", "%s: the expected launch was seen at %d instants of its flight", path, len(rows))
	}
	e.Motion = rows
	if e.Kind == motion.AnyKind {
		e.Kind = flies(m.Launch)
	}
	for _, c := range m.Launch.Conditions {
		if c.Key == "pressure" {
			e.Pressure = c.Quantity.Value
		}
	}
	return &m.id, nil
}

// firstMotion is when the first lane's vehicle left rest.
func (m *Measurement) firstMotion() (t float64, ok bool) {
	for _, a := range m.Sheet.Answers {
		if a.ID == motion.FirstMotion && a.Lane == m.Lanes[0].Motion.Lane && a.Value != nil {
			return *a.Value, true
		}
	}
	return 0, false
}
