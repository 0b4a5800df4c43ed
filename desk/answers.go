package desk

import (
	"encoding/json"
	"math"

	"padside/fault"
	"padside/footage"
	"padside/logbook"
	"padside/metrology"
	"padside/motion"
	"padside/timebase"
)

// Program is the name and version that results carry.
const Program = "padside 0.1.0"

// Sheet is the result of measuring one launch, in the shape of the file answers.json.
// All quantities are SI; pixels are in the picture's convention (x right, y down, centre
// of the top left pixel at the origin, after rotation).
type Sheet struct {
	Format   string             `json:"format"`
	Version  int                `json:"version"`
	Program  string             `json:"program"`
	Seed     uint64             `json:"seed"`
	Launch   LaunchLine         `json:"launch"`
	Footage  FootageLine        `json:"footage"`
	Answers  []metrology.Answer `json:"answers"`
	Trace    []TraceRow         `json:"trace"`
	History  []HistoryRow       `json:"history"`
	Warnings []fault.Warning    `json:"warnings"`
	Files    map[string]string  `json:"files,omitempty"` // where it was kept, SHA-256 of the files that belong to it
}

// LaunchLine names the launch.
type LaunchLine struct {
	Title   string `json:"title"`
	Vehicle string `json:"vehicle"`
	Setup   string `json:"setup,omitempty"`
	Date    string `json:"date,omitempty"`
}

// FootageLine says which footage the answers come from. RateHz is the true capture rate
// (basis "rate"), or the mean rate of the stamps.
type FootageLine struct {
	Path     string  `json:"path"`
	SHA256   string  `json:"sha256"`
	Frames   int     `json:"frames"`
	Basis    string  `json:"basis"`
	RateHz   float64 `json:"rate_hz"`
	Width    int     `json:"width"`
	Height   int     `json:"height"`
	Complete bool    `json:"complete"`
}

// TraceRow is one vehicle in one frame: px, s and m. U is the standard uncertainty of
// the place along the flight line (px) from this frame alone, UHeight the same in metres.
type TraceRow struct {
	Lane    int        `json:"lane"`
	Frame   int        `json:"frame"`
	T       float64    `json:"t"`
	X       float64    `json:"x"`
	Y       float64    `json:"y"`
	U       float64    `json:"u"`
	Height  float64    `json:"height"`
	UHeight float64    `json:"u_height"`
	Quality float64    `json:"quality"`
	Source  string     `json:"source"`
	UPhase  float64    `json:"u_phase,omitempty"` // the part of U, px, that is common to frames of one phase
	UDoubt  float64    `json:"u_doubt,omitempty"` // the part of U, px, that neighbouring frames have together
	Phase   [2]float64 `json:"phase"`             // cosine and sine of where between pixels the point lies, less what blur takes away
	UOwn    float64    `json:"u_own,omitempty"`   // the part of U, px, that is this frame's alone
	Copy    bool       `json:"copy,omitempty"`    // the same picture as in the frame before: a codec's copy, not a measurement
}

// alone is the part of U that is this frame's alone, px. Sheets of earlier versions tell it by the
// other parts.
func (r *TraceRow) alone() float64 {
	if r.UOwn > 0 {
		return r.UOwn
	}
	return math.Sqrt(math.Max(0, r.U*r.U-r.UPhase*r.UPhase-r.UDoubt*r.UDoubt))
}

// HistoryRow is the smoothed motion of one lane at one frame time.
type HistoryRow struct {
	Lane int `json:"lane"`
	motion.State
}

// JSON returns the sheet as indented JSON with a final line break. Lists are never null.
func (s *Sheet) JSON() ([]byte, error) {
	c := *s
	c.Answers = notNil(c.Answers)
	c.Trace = notNil(c.Trace)
	c.History = notNil(c.History)
	c.Warnings = notNil(c.Warnings)
	return indented(&c)
}

// JSON returns the measurement's sheet.
func (m *Measurement) JSON() ([]byte, error) { return m.Sheet.JSON() }

// indented writes a sheet as JSON for a reader, with a final line break.
func indented(sheet any) ([]byte, error) {
	b, err := json.MarshalIndent(sheet, "", "  ")
	if err != nil {
		return nil, err
	}
	return append(b, '\n'), nil
}

func notNil[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

func newSheet(l *logbook.Launch, info footage.Info, base *timebase.Base, seed uint64) *Sheet {
	return &Sheet{
		Format: "padside-answers", Version: 1, Program: Program, Seed: seed,
		Launch: LaunchLine{Title: l.Title, Vehicle: l.Vehicle, Setup: l.Setup, Date: l.Date},
		Footage: FootageLine{Path: l.Footage.Given, Frames: info.Frames, Basis: string(base.Basis), RateHz: meanRate(base),
			Width: info.Width, Height: info.Height, Complete: info.Complete},
	}
}

// add appends what one lane says.
func (m *Measurement) add(lane *Lane) {
	m.Lanes = append(m.Lanes, *lane)
	s := m.Sheet
	s.Answers = append(s.Answers, lane.Motion.Answers...)
	for i, q := range lane.Path.Points {
		h := lane.Heights[i]
		s.Trace = append(s.Trace, TraceRow{Lane: lane.Path.Lane, Frame: q.Frame, T: h.T, X: q.X, Y: q.Y, U: q.Total(),
			Height: h.H, UHeight: h.U, Quality: q.Quality, Source: q.Source, UPhase: q.UPhase, UDoubt: q.UDoubt, UOwn: q.U, Phase: q.Phase, Copy: q.Copy})
	}
	for _, st := range lane.Motion.History {
		s.History = append(s.History, HistoryRow{Lane: lane.Path.Lane, State: st})
	}
}
