package desk

import (
	"fmt"
	"io"
	"strings"

	"padside/motion"
	"padside/picture"
	"padside/wording"
)

// cardRows is how many answers the end card holds.
const cardRows = 5

// card words the launch's chief answers. A kind of them that the footage does not answer says so.
func (k *marking) card() picture.MarkedCard {
	c := picture.MarkedCard{Title: k.title, Under: k.conditions()}
	var words []wording.Answer
	for _, a := range k.answers {
		words = append(words, k.read.Word(a))
	}
	said := map[string]bool{}
	for _, a := range wording.Chiefs(words) {
		said[a.ID] = true
		c.Rows = append(c.Rows, picture.CardRow{Label: a.Label, Value: nice(a.Text), Interval: nice(a.Interval)})
	}
	for _, a := range k.unsaid(words, said) {
		c.Rows = append(c.Rows, picture.CardRow{Label: a.Label, Value: nice(a.Text), Interval: nice(a.IntervalText)})
	}
	c.Rows = c.Rows[:min(len(c.Rows), cardRows)]
	c.Foot = []string{"95 % intervals; " + k.caption()}
	if k.timed {
		_, arm, _ := strings.Cut(spanned(k.one.zero, timeUnit(0)), " ± ")
		c.Foot = append(c.Foot, "the clock counts from first motion, known to ± "+arm)
	}
	c.Foot = append(c.Foot, Program)
	return c
}

// unsaid are answers of the other kinds that a launch is known by, one of each: the measured one of
// the longest reach, or one that says why there is none.
func (k *marking) unsaid(words []wording.Answer, said map[string]bool) []wording.Answer {
	var out []wording.Answer
	for _, id := range []string{motion.FreeFallAcceleration, motion.TimeToSpeed, motion.PeakSpeed, motion.PeakAcceleration, motion.FirstMotion} {
		for i := len(words) - 1; i >= 0; i-- {
			a := words[i]
			if a.ID == id && !said[id] && (id != motion.FirstMotion || a.Value == nil) {
				said[id] = true
				out = append(out, a)
			}
		}
	}
	return out
}

// Text says for a person what was made.
func (s *ClipSheet) Text(w io.Writer) error {
	var b strings.Builder
	for _, c := range s.Clips {
		for _, f := range []struct {
			what string
			file *RaceFile
		}{{"", c.Clip}, {"overlay with alpha, ", c.Overlay}} {
			if f.file == nil {
				continue
			}
			fmt.Fprintf(&b, "%s: %s%d x %d px, %d frames at %g per second, slowed %.4g times\n",
				f.file.Path, f.what, f.file.Width, f.file.Height, f.file.Frames, f.file.RateHz, f.file.Slow)
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}
