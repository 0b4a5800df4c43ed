package desk

import (
	"context"
	"fmt"
	"math"

	"padside/camera"
	"padside/fault"
	"padside/footage"
	"padside/logbook"
	"padside/metrology"
	"padside/motion"
	"padside/study"
	"padside/trace"
	"padside/wording"
)

// CompareView is a comparison as the compare page shows it.
type CompareView struct {
	Launches []CompareLaunch `json:"launches"`
	Rows     []CompareRow    `json:"rows"`
	Order    [][]int         `json:"order"`
	OrderBy  string          `json:"order_by"`
	Places   []string        `json:"places"` // one per entry of Order: "1", "2 ="
	Curves   []CompareCurve  `json:"curves"`
	Sweep    []SweepView     `json:"sweep"`
	Repeats  []RepeatsView   `json:"repeats"`
	Warnings []fault.Warning `json:"warnings"`
	Units    wording.Units   `json:"units"`
}

// CompareLaunch is one of the launches compared.
type CompareLaunch struct {
	Name  string `json:"name"`
	Title string `json:"title"`
	Setup string `json:"setup"`
	Lane  int    `json:"lane"` // 0 where the footage shows one vehicle
}

// CompareRow is one answer across the launches.
type CompareRow struct {
	ID          string        `json:"id"`
	Label       string        `json:"label"`
	Unit        string        `json:"unit"` // of the numbers here: the reader's
	Each        []CompareEach `json:"each"`
	Ratios      []PairText    `json:"ratios"`
	Differences []PairText    `json:"differences"`
	Odds        []study.Odds  `json:"odds"`
	Designs     []string      `json:"designs"` // every two: whether they are told apart, and what it would take
	Orders      bool          `json:"orders"`  // the order is by this row
}

// CompareEach is one launch's answer, in the row's unit.
type CompareEach struct {
	Status   metrology.Status `json:"status"`
	Text     string           `json:"text"`
	Interval string           `json:"interval_text"`
	Value    *float64         `json:"value"`
	Low      *float64         `json:"low"`
	High     *float64         `json:"high"`
}

// PairText is a ratio or a difference with its words. A difference is in the row's unit.
type PairText struct {
	study.Pair
	Text string `json:"text"`
}

// CompareCurve is a launch's motion, time 0 at first motion; SI, with standard uncertainties.
type CompareCurve struct {
	Launch        int       `json:"launch"` // from 1
	T             []float64 `json:"t"`
	Height        []float64 `json:"height"`
	UHeight       []float64 `json:"u_height"`
	Speed         []float64 `json:"speed"`
	USpeed        []float64 `json:"u_speed"`
	Acceleration  []float64 `json:"acceleration"`
	UAcceleration []float64 `json:"u_acceleration"`
}

// SweepView is a line of a sweep with the answer's name in the reader's words.
type SweepView struct {
	SweepLine
	Label string `json:"label"`
}

// RepeatsView is a line of repeats with its words.
type RepeatsView struct {
	RepeatsLine
	Label    string `json:"label"`
	Text     string `json:"text"`
	Interval string `json:"interval_text"`
}

// CompareNames compares launches of the logbook that were measured, from what was kept of them: no footage is read. sweep is the
// condition in which they differ, empty where it is not asked for; repeats says that they repeat each other.
func (d *Desk) CompareNames(ctx context.Context, names []string, sweep string, repeats bool, want wording.Units) (*CompareView, error) {
	c, s, err := d.compared(ctx, names, CompareOptions{Sweep: sweep, Repeats: repeats})
	if err != nil {
		return nil, err
	}
	return s.view(names, c.measured, want)
}

// comparingKept gathers launches of the logbook with what was kept of them.
func (d *Desk) comparingKept(names []string, o CompareOptions) (*comparing, error) {
	if err := distinct(names); err != nil {
		return nil, err
	}
	c := &comparing{o: o}
	var answerers []answerer
	for _, name := range names {
		l, a, err := d.answererOf(name)
		if err != nil {
			return nil, err
		}
		c.launches, answerers = append(c.launches, l), append(answerers, a)
		if sheet := d.kept(name).sheet; sheet != nil {
			c.window = max(c.window, widest([]*Measurement{{Sheet: sheet}}))
		}
	}
	c.answer = func(ctx context.Context, i int, o Options) (*Measurement, error) {
		return answerers[i](ctx, c.launches[i], o)
	}
	return c, nil
}

// answerer answers a launch's questions.
type answerer func(context.Context, *logbook.Launch, Options) (*Measurement, error)

// answererOf answers a launch from what was kept of it.
func (d *Desk) answererOf(name string) (*logbook.Launch, answerer, error) {
	l, s, err := d.resolved(name)
	if err != nil {
		return nil, nil, err
	}
	k := d.kept(name)
	if err := d.counts(name, l, s, k); err != nil {
		return nil, nil, err
	}
	sheet, record := k.sheet, k.record
	return l, func(ctx context.Context, l *logbook.Launch, o Options) (*Measurement, error) {
		m := &Measurement{Launch: l, Sheet: &Sheet{Seed: max(1, o.Seed), Launch: sheet.Launch, Footage: sheet.Footage, Warnings: sheet.Warnings}}
		info := footage.Info{Width: sheet.Footage.Width, Height: sheet.Footage.Height}
		for _, r := range record.Lanes {
			seen := keptLane(r, record, sheet)
			lane, _, err := seen.measure(ctx, l, info, o)
			if err != nil {
				return nil, err
			}
			lane.Path.Lane = r.Lane
			m.Lanes = append(m.Lanes, *lane)
			m.Sheet.Answers = append(m.Sheet.Answers, lane.Motion.Answers...)
		}
		return m, nil
	}, nil
}

// keptLane is a vehicle's trace as it was kept.
func keptLane(r RecorderLane, record *Recorder, sheet *Sheet) seen {
	out := seen{lane: r.Lane, leftView: r.LeftView, clock: record.clock, digest: sheet.Footage.SHA256, restU: max(r.RestU, trace.RestU),
		line: camera.FlightLine{Rest: camera.Pixel{X: r.Line.X0, Y: r.Line.Y0}, Ux: r.Line.Ux, Uy: r.Line.Uy}}
	if r.Growth != nil {
		out.growth = camera.Growth{Rate: r.Growth.Rate, U: r.Growth.U, Known: true, Ruler: r.Growth.Ruler, Wide: r.Growth.Wide,
			RatePerSkew: r.Growth.RatePerSkew, RateBend: r.Growth.RateBend, Skew: r.Growth.Skew, SkewU: r.Growth.SkewU}
	}
	for _, t := range sheet.Trace {
		if t.Lane == r.Lane {
			out.spots = append(out.spots, spot{t.Frame, t.T, record.stray(t.Frame), record.stampU(t.Frame), t.X, t.Y, t.alone(), t.UPhase, t.UDoubt, t.Phase, t.Copy, t.Source == trace.SourceMarked})
		}
	}
	out.skewed()
	return out
}

// view words a comparison.
func (s *CompareSheet) view(names []string, list []*Measurement, want wording.Units) (*CompareView, error) {
	r, err := wording.New(s.questions[0], want)
	if err != nil {
		return nil, err
	}
	v := &CompareView{Order: s.Order, OrderBy: s.OrderBy, Places: []string{}, Sweep: []SweepView{}, Repeats: []RepeatsView{}, Warnings: s.Warnings, Units: want}
	for i := range s.Order {
		v.Places = append(v.Places, study.PlaceWords(s.Order, i))
	}
	k := 0
	for i, m := range list {
		for j := range m.Lanes {
			v.Launches = append(v.Launches, CompareLaunch{Name: names[i], Title: s.Launches[k].Title, Setup: s.Launches[k].Setup, Lane: s.Launches[k].Lane})
			k++
			v.Curves = append(v.Curves, curveOf(k, m.Lanes[j].Motion))
		}
	}
	for i := range s.Answers {
		row := compareRow(r, &s.Answers[i])
		row.Orders = s.by == &s.Answers[i]
		v.Rows = append(v.Rows, row)
	}
	for _, l := range s.Sweep {
		v.Sweep = append(v.Sweep, SweepView{l, r.Name(l.question())})
	}
	for _, m := range s.Repeats {
		w := r.Word(m.Answer)
		v.Repeats = append(v.Repeats, RepeatsView{m, w.Label, w.Text, w.IntervalText})
	}
	return v, nil
}

// compareRow words one row.
func compareRow(r wording.Reader, row *study.Row) CompareRow {
	u := r.UnitOf(metrology.Answer{ID: row.ID, Unit: row.Unit, Value: new(float64)})
	out := CompareRow{ID: row.ID, Label: r.Name(row.Question()), Unit: u.Symbol, Ratios: []PairText{}, Differences: []PairText{}, Odds: row.Odds, Designs: []string{}}
	for _, a := range row.Each {
		e := CompareEach{Status: a.Status}
		e.Text, e.Interval = wording.Text(a, u)
		if a.Value != nil {
			value, low, high := u.FromSI(*a.Value), u.FromSI(a.Interval[0]), u.FromSI(a.Interval[1])
			e.Value, e.Low, e.High = &value, &low, &high
		}
		out.Each = append(out.Each, e)
	}
	for _, a := range row.Designs {
		out.Designs = append(out.Designs, apartText(a, u))
	}
	for _, p := range row.Ratios {
		out.Ratios = append(out.Ratios, PairText{p, ratioText(p)})
	}
	for _, p := range row.Differences {
		p.Value, p.Interval[0], p.Interval[1] = u.DeltaFromSI(p.Value), u.DeltaFromSI(p.Interval[0]), u.DeltaFromSI(p.Interval[1])
		sd := (p.Interval[1] - p.Interval[0]) / 4
		text := fmt.Sprintf("%.4g %s", p.Value, u.Symbol)
		if place, ok := metrology.Place(sd, metrology.Digits); ok {
			lo, hi := metrology.Ends(metrology.Interval{Lo: p.Interval[0], Hi: p.Interval[1]}, sd, metrology.Digits)
			text = fmt.Sprintf("%s %s, between %s and %s", metrology.Round(p.Value, place), u.Symbol, lo, hi)
		}
		out.Differences = append(out.Differences, PairText{p, text})
	}
	return out
}

// curveOf is a launch's history counted from its first motion, or from its first frame where that was not measured.
func curveOf(number int, m *motion.Result) CompareCurve {
	zero := math.NaN()
	for _, a := range m.Answers {
		if a.ID == motion.FirstMotion && a.Value != nil {
			zero = *a.Value
		}
	}
	if math.IsNaN(zero) && len(m.History) > 0 {
		zero = m.History[0].T
	}
	c := CompareCurve{Launch: number}
	for _, h := range m.History {
		c.T = append(c.T, h.T-zero)
		c.Height, c.UHeight = append(c.Height, h.Height), append(c.UHeight, h.UHeight)
		c.Speed, c.USpeed = append(c.Speed, h.Speed), append(c.USpeed, h.USpeed)
		c.Acceleration, c.UAcceleration = append(c.Acceleration, h.Acceleration), append(c.UAcceleration, h.UAcceleration)
	}
	return c
}
