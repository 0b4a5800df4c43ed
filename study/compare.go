package study

import (
	"fmt"
	"math"

	"padside/fault"
	"padside/metrology"
	"padside/motion"
)

// Launch is one vehicle's answers with their draws.
type Launch struct {
	Title    string
	Setup    string // launches that name the same one share its errors; empty: its own
	Lane     int
	Answers  []metrology.Answer
	Draws    [][]float64 // aligned with Answers; nil where there is no value
	Warnings []fault.Warning
}

// Pair is a ratio or a difference of launch Of to launch To.
type Pair struct {
	Of       int        `json:"of"`
	To       int        `json:"to"`
	Value    float64    `json:"value"`
	Interval [2]float64 `json:"interval95"`
}

// Between finds the difference of launch of to launch to in a list that holds each pair one way round.
func Between(list []Pair, of, to int) (Pair, bool) {
	for _, p := range list {
		switch {
		case p.Of == of && p.To == to:
			return p, true
		case p.Of == to && p.To == of:
			return Pair{Of: of, To: to, Value: -p.Value, Interval: [2]float64{-p.Interval[1], -p.Interval[0]}}, true
		}
	}
	return Pair{}, false
}

// Odds is the probability that launch First has the smaller value of the two.
type Odds struct {
	First       int     `json:"first"`
	Second      int     `json:"second"`
	Probability float64 `json:"probability"`
}

// Row compares one answer across launches.
type Row struct {
	ID     string   `json:"id"`
	Speed  *float64 `json:"speed,omitempty"`
	Height *float64 `json:"height,omitempty"`
	From   *float64 `json:"from,omitempty"`
	To     *float64 `json:"to,omitempty"`
	Window *float64 `json:"window,omitempty"`
	Unit   string   `json:"unit"`

	Each        []metrology.Answer `json:"each"` // one per launch
	Ratios      []Pair             `json:"ratios"`
	Differences []Pair             `json:"differences"`
	Odds        []Odds             `json:"odds"`
	Designs     []Apart            `json:"designs,omitempty"` // every two of them; only where launches were not said to repeat each other

	draws [][]float64 // one per launch
}

// Comparison is what launches say of each other.
type Comparison struct {
	Rows     []Row
	Order    [][]int // finishing places, those tied together; empty where nothing orders them
	OrderBy  string  // the answer the order is by, in words
	By       *Row    // and its row; nil where nothing orders them
	Warnings []fault.Warning
}

// Compare compares two or more launches: each answer that at least two have, in the order of the first launch. Times of gates are
// counted from each launch's own first motion: the clocks of two pieces of footage have nothing to do with each other.
func Compare(launches []Launch) (*Comparison, error) {
	if len(launches) < 2 {
		return nil, fault.Requestf("name two launches or more", "one launch alone has nothing to be compared with")
	}
	c := &Comparison{Warnings: doubts(launches, func(int) bool { return true })}
	for _, l := range launches {
		for _, a := range l.Answers {
			if a.ID == motion.FirstMotion || a.ID == motion.AverageSpeed || c.has(a) { // frames of two pieces of footage have nothing to do with each other
				continue
			}
			if r, ok := row(launches, a); ok {
				c.Rows = append(c.Rows, r)
			}
		}
	}
	if len(c.Rows) == 0 {
		return nil, fault.NoAnswerf("ask all of them for the same speeds and gates", "the %d launches share no answer", len(launches))
	}
	c.order()
	return c, nil
}

func (c *Comparison) has(a metrology.Answer) bool {
	for i := range c.Rows {
		if c.Rows[i].is(a) {
			return true
		}
	}
	return false
}

// is says whether an answer is to this row's question.
func (r *Row) is(a metrology.Answer) bool {
	return r.ID == a.ID && same(r.Speed, a.Speed) && same(r.Height, a.Height) && same(r.From, a.From) && same(r.To, a.To)
}

// same compares two optional numbers to what printing in another unit may change.
func same(a, b *float64) bool {
	if a == nil || b == nil {
		return a == b
	}
	return math.Abs(*a-*b) <= 1e-9*(math.Abs(*a)+math.Abs(*b))
}

// row gathers the answers to one question. It reports false where fewer than two launches were asked it.
func row(launches []Launch, of metrology.Answer) (Row, bool) {
	r := Row{ID: of.ID, Speed: of.Speed, Height: of.Height, From: of.From, To: of.To, Window: of.Window, Unit: of.Unit,
		Ratios: []Pair{}, Differences: []Pair{}, Odds: []Odds{}}
	asked := 0
	for i := range launches {
		a, d, ok := launches[i].find(&r)
		if !ok {
			a = metrology.WithoutValue(of, metrology.Insufficient, "this launch was not asked")
		} else {
			asked++
		}
		a.Lane = 0
		r.Each, r.draws = append(r.Each, a), append(r.draws, d)
	}
	for i := range launches {
		for j := range i {
			r.pair(j, i)
		}
	}
	return r, asked > 1
}

// find returns a launch's answer to a row's question and its draws, times of gates counted from first motion.
func (l *Launch) find(r *Row) (metrology.Answer, []float64, bool) {
	for i, a := range l.Answers {
		if !r.is(a) {
			continue
		}
		a, d := l.SinceFirstMotion(i)
		return a, d, true
	}
	return metrology.Answer{}, nil, false
}

// SinceFirstMotion returns answer i (from 0) and its draws; when a gate is passed is counted from the launch's own first motion, draw
// by draw.
func (l *Launch) SinceFirstMotion(i int) (metrology.Answer, []float64) {
	a, d := l.Answers[i], l.Draws[i]
	if a.ID != motion.GateCrossing || d == nil {
		return a, d
	}
	for k, b := range l.Answers {
		if b.ID == motion.FirstMotion && l.Draws[k] != nil {
			since, value := minus(d, l.Draws[k]), *a.Value-*b.Value
			if a, err := metrology.FromDraws(a, value, since); err == nil {
				a.Budget = nil // of another question
				return a, since
			}
		}
	}
	return metrology.WithoutValue(a, metrology.Insufficient, "first motion was not measured"), nil
}

func minus(a, b []float64) []float64 {
	out := make([]float64, min(len(a), len(b)))
	for i := range out {
		out[i] = a[i] - b[i]
	}
	return out
}

// pair compares launch j (from 0) with launch i, i before j: ratio and difference of j to i.
func (r *Row) pair(i, j int) {
	a, b := r.draws[i], r.draws[j]
	n := min(len(a), len(b))
	if n == 0 || r.Each[i].Value == nil || r.Each[j].Value == nil {
		return
	}
	diff, ratio := make([]float64, n), make([]float64, n)
	smaller, sameSign := 0.0, true
	for k := range n {
		diff[k], ratio[k] = b[k]-a[k], b[k]/a[k]
		sameSign = sameSign && (a[k] > 0) == (a[0] > 0) && a[k] != 0
		switch {
		case b[k] < a[k]:
			smaller++
		case b[k] == a[k]:
			smaller += 0.5
		}
	}
	if iv, err := metrology.ShortestInterval(diff, 0.95); err == nil {
		r.Differences = append(r.Differences, Pair{j + 1, i + 1, *r.Each[j].Value - *r.Each[i].Value, [2]float64{iv.Lo, iv.Hi}})
	}
	// A ratio to what may be nothing has no interval.
	if iv, err := metrology.ShortestInterval(ratio, 0.95); err == nil && sameSign {
		r.Ratios = append(r.Ratios, Pair{j + 1, i + 1, *r.Each[j].Value / *r.Each[i].Value, [2]float64{iv.Lo, iv.Hi}})
	}
	p := smaller / float64(n)
	r.Odds = append(r.Odds, Odds{j + 1, i + 1, p}, Odds{i + 1, j + 1, 1 - p})
}

// doubts are the reasons why launches, those that count, may not be comparable.
func doubts(launches []Launch, counts func(i int) bool) []fault.Warning {
	var out []fault.Warning
	add := func(code, format string, args ...any) {
		out = append(out, fault.Warning{Code: code, Message: fmt.Sprintf(format, args...)})
	}
	setups := map[string]bool{}
	for i, l := range launches {
		if !counts(i) {
			continue
		}
		key := l.Setup
		if key == "" {
			key = fmt.Sprint("#", i)
		}
		setups[key] = true
		for _, w := range l.Warnings {
			switch w.Code {
			case "still-accelerating":
				add(w.Code, "launch %d (%s) is fastest at the edge of view, as far as can be told: its peak speed is a lower bound, and so is what it is compared by", i+1, l.Title)
			case "scale-range-assumed":
				add(w.Code, "launch %d (%s) does not state its distances: the allowance for them widens every ratio with a launch of another setup", i+1, l.Title)
			}
		}
	}
	if len(setups) > 1 {
		add("setups-differ", "%d setups: errors of scale and time base do not cancel between them; launches filmed from one place under one setup name compare better", len(setups))
	}
	return out
}

// All returns every launch's value and draws; false where one has none.
func (r *Row) All() (values []float64, draws [][]float64, ok bool) {
	if !r.complete() {
		return nil, nil, false
	}
	for i := range r.Each {
		values = append(values, *r.Each[i].Value)
	}
	return values, r.draws, true
}

// Question is what the row asks, without a value.
func (r *Row) Question() metrology.Answer {
	return metrology.Answer{ID: r.ID, Speed: r.Speed, Height: r.Height, From: r.From, To: r.To, Window: r.Window, Unit: r.Unit}
}
