package desk

import (
	"context"
	"errors"
	"fmt"

	"padside/fault"
	"padside/footage"
	"padside/logbook"
	"padside/metrology"
	"padside/motion"
	"padside/picture"
)

// Size of streak.png, px.
const (
	streakWidth  = 1400
	streakHeight = 900
)

// Keep writes answers.json, trace.csv, history.csv and streak.png into dir, which is made
// when missing. The answers come last and hold the digests of the others.
func (m *Measurement) Keep(dir string) error {
	files, err := m.files()
	if err != nil {
		return err
	}
	return logbook.Whole{Files: files, Last: answersFile, Seal: m.sealed}.Write(dir)
}

// sealed are the answers with the digests of the files that belong to them.
func (m *Measurement) sealed(digests map[string]string) ([]byte, error) {
	s := *m.Sheet
	s.Files = digests
	return s.JSON()
}

// files are the results by file name, but the answers.
func (m *Measurement) files() (map[string][]byte, error) {
	files := m.streaks() // first: what cannot be drawn is a warning of the answers
	var err error
	if files["trace.csv"], err = m.Sheet.TraceCSV(); err != nil {
		return nil, fmt.Errorf("write trace: %w", err)
	}
	if files["history.csv"], err = m.Sheet.HistoryCSV(); err != nil {
		return nil, fmt.Errorf("write history: %w", err)
	}
	return files, nil
}

// streaks draws each lane's streak by file name. One that cannot be drawn is a warning of the sheet.
func (m *Measurement) streaks() map[string][]byte {
	files := map[string][]byte{}
	for i := range m.Lanes {
		if m.Lanes[i].Path.Streak == nil {
			continue // a trace of marks alone: there is no band of footage to show
		}
		name := "streak.png"
		if i > 0 {
			name = fmt.Sprintf("streak-lane-%d.png", m.Lanes[i].Path.Lane)
		}
		b, err := m.streak(&m.Lanes[i])
		if err != nil {
			m.warn([]fault.Warning{undrawn(name, err)})
			continue
		}
		files[name] = b
	}
	return files
}

// streak draws the whole flight of one lane as one picture.
func (m *Measurement) streak(lane *Lane) ([]byte, error) {
	band := lane.band
	if band == nil {
		return nil, errors.New("a streak needs two frames of the vehicle and two heights")
	}
	s := picture.Streak{Title: m.Launch.Title, Rows: band.Rows, Gates: m.Launch.Questions.Gates,
		Gray:   func(col, row int) uint8 { return band.Pix[col*band.Rows+row] },
		Height: func(row float64) float64 { return lane.Scale.Height(band.S0 + band.Step*row) }}
	for _, f := range band.Frames {
		s.Times = append(s.Times, m.base.TimeAt(f, lane.Path.Line.Rest.X, lane.Path.Line.Rest.Y))
	}
	for _, h := range lane.Heights {
		s.Trace = append(s.Trace, picture.Place{T: h.T, H: h.H})
	}
	for _, a := range lane.Motion.Answers {
		if a.ID == motion.FirstMotion && a.Status == metrology.Measured {
			s.Instants = append(s.Instants, picture.Instant{Name: "first motion", Lo: a.Interval[0], Hi: a.Interval[1]})
		}
	}
	return s.PNG(streakWidth, streakHeight)
}

// Overlay draws frame i as filmed with the traces on it, as a PNG.
// The camera's shake is not put back, so that with a hand-held camera the line may stand a few pixels off.
func (m *Measurement) Overlay(ctx context.Context, i int) ([]byte, error) {
	shot, err := footage.Open(ctx, m.Launch.Footage.Path, footage.Options{Rotate: m.Launch.Footage.Rotate})
	if err != nil {
		return nil, err
	}
	defer shot.Close()
	frame, err := shot.Picture(ctx, i)
	if err != nil {
		return nil, err
	}
	o := picture.Overlay{Frame: frame}
	for _, lane := range m.Lanes {
		here := -1
		var spots []picture.Spot
		for k, q := range lane.Path.Points {
			spots = append(spots, picture.Spot{X: q.X, Y: q.Y, U: q.Total()})
			if q.Frame == i {
				here = k
			}
		}
		o.Traces, o.Here = append(o.Traces, spots), append(o.Here, here)
	}
	return o.PNG()
}
