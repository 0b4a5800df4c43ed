package desk

import (
	"fmt"
	"io"
	"text/tabwriter"

	"padside/metrology"
	"padside/motion"
	"padside/scene"
	"padside/wording"
)

// besideTruth is a launch's answers with the truth of those whose truth is known.
type besideTruth struct {
	sheet     *Sheet
	rows      []besideRow
	held, all int
}

// besideRow is one answer in words.
type besideRow struct {
	id, name, value, interval string
	truth, limit              string
	known, held               bool
}

// besideTruth sets each answer beside its truth.
func (m *Measurement) besideTruth(known []scene.Known) (*besideTruth, error) {
	r, err := wording.New(m.Launch.Questions, wording.Units{})
	if err != nil {
		return nil, err
	}
	b := &besideTruth{sheet: m.Sheet}
	for _, a := range m.Sheet.Answers {
		u := r.UnitsOf(a)[0]
		row := besideRow{id: a.ID, name: r.Name(a), limit: wording.Limit(a)}
		row.value, row.interval = wording.Text(a, u)
		truth, ok := truthOf(a, known)
		if row.known = ok && a.Value != nil; row.known {
			row.held = a.Interval[0] <= truth && truth <= a.Interval[1]
			place, _ := metrology.Place(u.DeltaFromSI(*a.U), metrology.Digits)
			row.truth = metrology.Round(u.FromSI(truth), place)
			b.all++
			if row.held {
				b.held++
			}
		}
		b.rows = append(b.rows, row)
	}
	return b, nil
}

// table writes every answer.
func (b *besideTruth) table(w io.Writer) error {
	b.title(w)
	t := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	fmt.Fprintln(t, "\tmeasured\t95 % interval\ttruth\tlimited by")
	for _, r := range b.rows {
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\n", r.name, r.value, r.interval, r.truthWords(), r.limit)
	}
	return t.Flush()
}

// demoShort are the answers told of a launch that is not told whole.
var demoShort = map[string]bool{motion.TimeToSpeed: true, motion.PeakSpeed: true}

// line writes the chief answers, how many of all hold the truth, and which do not.
func (b *besideTruth) line(w io.Writer) error {
	b.title(w)
	t := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	fmt.Fprintln(t, "\tmeasured\t95 % interval\ttruth")
	for _, r := range b.rows {
		if demoShort[r.id] && r.known || r.known && !r.held {
			fmt.Fprintf(t, "%s\t%s\t%s\t%s\n", r.name, r.value, r.interval, r.truthWords())
		}
	}
	fmt.Fprintf(t, "%d of all %d intervals hold the truth\n", b.held, b.all)
	return t.Flush()
}

func (b *besideTruth) title(w io.Writer) {
	fmt.Fprintf(w, "\n%s (%d frames, %.5g per second)\n", b.sheet.Launch.Title, b.sheet.Footage.Frames, b.sheet.Footage.RateHz)
}

func (r *besideRow) truthWords() string {
	if r.known && !r.held {
		return "outside: " + r.truth
	}
	return r.truth
}

// truthOf finds the truth an answer speaks of. The time in view depends on which point of the
// vehicle was traced and is left out.
func truthOf(a metrology.Answer, known []scene.Known) (float64, bool) {
	for _, k := range known {
		if k.Of(a.ID, a.Lane, a.At()) && k.ID != motion.ViewTime {
			return k.Value, true
		}
	}
	return 0, false
}
