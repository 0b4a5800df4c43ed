package desk

import (
	"bytes"
	"fmt"
	"image/png"
	"math"
	"os"
	"slices"

	"padside/logbook"
	"padside/metrology"
	"padside/picture"
	"padside/study"
	"padside/units"
	"padside/wording"
)

// still writes the photo finish.
func (r *contest) still() error {
	b, err := r.photoFinish().PNG()
	if err != nil {
		r.sheet.Warnings = append(r.sheet.Warnings, undrawn("the photo finish", err))
		return nil
	}
	size, err := png.DecodeConfig(bytes.NewReader(b))
	if err != nil {
		return fmt.Errorf("draw photo finish: %w", err)
	}
	r.sheet.Still = &RaceFile{Path: r.o.Still, Width: size.Width, Height: size.Height}
	return logbook.WriteFileAtomic(r.o.Still, func(temp string) error { return os.WriteFile(temp, b, 0o644) })
}

// photoFinish puts the streaks under each other.
func (r *contest) photoFinish() *picture.PhotoFinish {
	c := &r.cadence
	f := &picture.PhotoFinish{Title: fmt.Sprintf("First motion to %s", r.goalText()), Finish: picture.Level{Height: r.goal, Label: r.goalText()}, Levels: r.levels(),
		From: c.from, To: c.to + 0.05*(c.to-c.from), Lo: -0.12 * r.goal, Hi: 1.12 * r.goal}
	for i := range r.runners {
		one := &r.runners[i]
		s := picture.FinishStrip{Title: one.line.Title, Result: r.result(i), Streak: one.streak()}
		zero := *one.zero.Value
		s.First = [2]float64{one.zero.Interval[0] - zero, one.zero.Interval[1] - zero}
		if a := one.time; a.Value != nil {
			s.Crossing = &picture.Crossing{At: *a.Value, Lo: a.Interval[0], Hi: a.Interval[1]}
		}
		if len(s.Streak.Times) == 0 {
			s.Note = "a trace of marks alone: no streak"
		}
		f.Strips = append(f.Strips, s)
	}
	return f
}

// streak is the runner's band of footage against the time since its first motion.
func (one *runner) streak() picture.Streak {
	var s picture.Streak
	if band := levelRows(one.path.Streak, one.scale); band != nil {
		s.Rows = band.Rows
		s.Gray = func(col, row int) uint8 { return band.Pix[col*band.Rows+row] }
		s.Height = func(row float64) float64 { return one.scale.Height(band.S0 + band.Step*row) }
		for _, f := range band.Frames {
			s.Times = append(s.Times, one.times[min(max(0, f-one.first), len(one.times)-1)])
		}
	}
	for _, m := range one.motion {
		s.Trace = append(s.Trace, picture.Place{T: m.T - *one.zero.Value, H: m.Height})
	}
	return s
}

// result is a runner's place, its time and how far it is behind the first.
func (r *contest) result(i int) string {
	one := &r.runners[i]
	if one.award == "" {
		return "did not reach " + r.goalText() + " in view"
	}
	words := one.award + "   " + timeWords(one.time)
	if len(r.sheet.Order) > 0 && !slices.Contains(r.sheet.Order[0], i+1) {
		if gap := r.sheet.gap(i+1, r.sheet.Order[0][0]); gap != "" {
			words += ", " + gap + " after " + fmt.Sprint(r.sheet.Order[0][0])
		}
	}
	return words
}

// gap is how much later one launch finished than another, with its 95 % interval; empty where it is not known.
func (s *RaceSheet) gap(of, to int) string {
	if p, ok := study.Between(s.Differences, of, to); ok {
		return gapWords(p)
	}
	return ""
}

func gapWords(p study.Pair) string {
	u := units.SI(units.Time)
	if math.Abs(p.Value) < wording.InSeconds {
		u, _ = units.Lookup("ms", units.Time)
	}
	value := u.DeltaFromSI(p.Value)
	half := u.DeltaFromSI(max(p.Interval[1]-p.Value, p.Value-p.Interval[0]))
	place, ok := metrology.Place(half, metrology.Digits)
	if !ok {
		return fmt.Sprintf("%.4g %s", value, u.Symbol)
	}
	return fmt.Sprintf("%s ± %s %s", metrology.Round(value, place), metrology.Round(half, place), u.Symbol)
}
