package shoot

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"padside/metrology"
	"padside/motion"
)

// Verdict says whether footage would answer a question.
type Verdict string

// Verdicts: the intervals foreseen are as narrow as asked, some are, or none; those that lie within modelled of what is asked may be either. A chance of
// pictures is 95 %, at least 50 %, or less.
const (
	Yes      Verdict = "yes"
	Marginal Verdict = "marginal"
	No       Verdict = "no"
)

const (
	// modelled is the factor within which rehearsed half widths are those foreseen (bench/plans).
	modelled = 1.25
	// odd is how many of the takes foreseen may lie outside the range on either side: one of eight is.
	odd        = 1
	sure, fair = 0.95, 0.5
	spare      = 1.2 // how much more than just enough to see
)

// Forecast is what one mode would say to one question.
type Forecast struct {
	Answer    string       `json:"answer"`
	Speed     float64      `json:"speed,omitempty"`  // m/s
	Height    float64      `json:"height,omitempty"` // m
	From      float64      `json:"from,omitempty"`   // m
	To        float64      `json:"to,omitempty"`     // m
	Count     int          `json:"count,omitempty"`
	Within    float64      `json:"within"`
	HalfWidth *float64     `json:"half_width"`                 // of the 95 % interval, relative; null where there is no answer
	Range     *[2]*float64 `json:"half_width_range,omitempty"` // of the takes foreseen, the narrowest and the widest but one; the latter null where those have no answer
	Chance    *float64     `json:"chance,omitempty"`           // of Pictures, with the best trigger
	Verdict   Verdict      `json:"verdict"`
	Reason    string       `json:"reason"`
	Change    string       `json:"change"` // what would help most; empty where nothing need change

	*Rehearsed // nil: not rehearsed
}

// Rehearsed is what came of filming the plan in simulation and measuring the pictures.
type Rehearsed struct {
	Half     *float64 `json:"rehearsed_half_width"` // the middle one's, relative; null where no take had an answer
	Error    *float64 `json:"error_rms"`            // relative, against the truth
	Covered  int      `json:"covered"`              // takes whose interval held it
	Answered int      `json:"answered"`             // takes that had an answer
	Takes    int      `json:"takes"`                // takes filmed
}

// forecasts judges every question for one option.
func (s *Shoot) forecasts(o *Option, f *foresight) []Forecast {
	out := []Forecast{}
	asked := 0
	for _, q := range s.Questions {
		c := Forecast{Answer: q.Answer, Speed: q.Speed, Height: q.Height, From: q.From, To: q.To, Count: q.Count, Within: q.Within}
		switch {
		case q.Answer == Pictures:
			judgePictures(&c, q, o, asked)
			asked++
		case o.stops > 0:
			c.Verdict, c.Reason = No, fmt.Sprintf("too dark by %.1f stops even at ISO %.0f, f/%.2g and %s", o.stops, o.ISO, o.Aperture, Shutter(o.Exposure))
			c.Change = "more light, a wider lens, a higher ISO or a lower rate"
		case o.viewTime == 0:
			c.Verdict, c.Reason, c.Change = No, "the nose at rest is not in view, so first motion is not seen", "aim lower, or step back"
		default:
			s.judge(&c, q, o, f)
		}
		if o.tooLight && c.Verdict == Yes {
			c.Verdict, c.Change = Marginal, "a grey filter: the picture is too bright even at the shortest exposure and the smallest aperture"
		}
		out = append(out, c)
	}
	return out
}

// judge fills in what the simulated takes say to a question.
func (s *Shoot) judge(c *Forecast, q Question, o *Option, f *foresight) {
	var widths []float64
	var last *metrology.Answer
	var silent metrology.Answer
	for _, answers := range f.takes {
		a, ok := q.answer(answers)
		if !ok {
			continue
		}
		if a.Value == nil {
			silent = a
			continue
		}
		half, _ := Relative(a, *a.Value, 0)
		widths = append(widths, half)
		if last == nil || half >= slices.Max(widths) {
			last = &a // what would help most is what the widest hangs on
		}
	}
	if 2*len(widths) <= foreseen { // more than half of the takes must answer
		c.Verdict = No
		s.silence(c, q, o, silent, f.err)
		return
	}
	sort.Float64s(widths)
	half, lo, hi := widths[len(widths)/2], widths[odd], math.Inf(1)
	c.HalfWidth, c.Range = &half, &[2]*float64{&lo, nil}
	if k := foreseen - 1 - odd; k < len(widths) { // takes without an answer are the widest
		hi = widths[k]
		c.Range[1] = &hi
	}
	c.Reason = fmt.Sprintf("half width %s, asked %.2g %%", spreadText(lo, half, hi), 100*q.Within)
	switch {
	case hi*modelled <= q.Within:
		c.Verdict = Yes
		return
	case lo <= q.Within*modelled:
		c.Verdict = Marginal
	default:
		c.Verdict = No
	}
	if len(last.Budget) > 0 {
		top := last.Budget[0]
		c.Reason += fmt.Sprintf("; %.0f %% of the variance is %s", 100*top.Share, top.Source)
		c.Change = motion.Remedy(top.Source)
	}
}

// spreadText writes the half widths foreseen: the middle one, and the narrowest and the widest where they differ.
func spreadText(lo, half, hi float64) string {
	text := fmt.Sprintf("%.2g %%", 100*half)
	switch {
	case math.IsInf(hi, 1):
		text += fmt.Sprintf(" (%.2g %% or more, or no answer)", 100*lo)
	case hi > modelled*lo:
		text += fmt.Sprintf(" (%.2g to %.2g %%)", 100*lo, 100*hi)
	}
	return text
}

// silence says why there is no answer, and what would bring one.
func (s *Shoot) silence(c *Forecast, q Question, o *Option, a metrology.Answer, err error) {
	c.Reason = a.Reason
	if c.Reason == "" && err != nil {
		c.Reason = err.Error()
	}
	way := q.way(s.Expected.Motion)
	seen := s.Expected.Motion.At(o.viewTime).Height
	switch {
	case math.IsInf(way, 1):
		c.Reason, c.Change = "the expected motion never gets there", "ask for less, or check the expected motion"
	case way > seen:
		c.Reason = fmt.Sprintf("it happens %.2g m up, the view ends %.2g m above rest", way, seen)
		c.Change = fmt.Sprintf("see %.2g m: stand about %.2g m away, or use a lens of about %.2g mm", spare*way,
			s.Place.Range.Value*spare*way/seen, 1e3*s.lens(o.camera).FocalLength*seen/way/spare)
	case float64(o.FramesInView) < fewest:
		c.Reason = fmt.Sprintf("%d frames in flight are too few", o.FramesInView)
		c.Change = fmt.Sprintf("a rate of %.3g Hz or more", math.Ceil(fewest/o.viewTime))
	case c.Reason == "":
		c.Reason = "no answer of this kind comes from such footage"
	}
}

// fewest is how many frames in flight few-frame models need to tell speed and acceleration apart from first motion.
const fewest = 4.

// way is how far from rest the thing asked for happens, m; +Inf where it never does.
func (q Question) way(m Motion) float64 {
	switch {
	case q.Speed > 0:
		if t, ok := first(m, q.Speed, longest, speedOf); ok {
			return m.At(t).Height
		}
		return math.Inf(1)
	case q.To > 0 || q.Height > 0:
		return math.Max(q.To, q.Height)
	}
	return 0
}

// judgePictures fills in the chance of a burst, or counts the frames of a clip.
func judgePictures(c *Forecast, q Question, o *Option, asked int) {
	if o.camera.Burst == nil {
		c.Verdict, c.Reason = Yes, fmt.Sprintf("%d frames in flight are in view", o.FramesInView)
		if o.FramesInView < q.Count {
			c.Verdict, c.Change = No, fmt.Sprintf("a rate of %.3g Hz or more", math.Ceil(float64(q.Count)/math.Max(o.viewTime, 1e-9)))
		}
		return
	}
	best, how := -1.0, ""
	for _, p := range o.caught {
		if p.asked[asked] > best {
			best, how = p.asked[asked], p.Trigger
		}
	}
	c.Chance = &best
	c.Reason = fmt.Sprintf("a chance of %.0f %%, pressed %s", 100*best, how)
	switch {
	case best >= sure:
		c.Verdict = Yes
		return
	case best >= fair:
		c.Verdict = Marginal
	default:
		c.Verdict = No
	}
	c.Change = fmt.Sprintf("a burst of %.3g Hz or more, or see more of the flight: it is in view for %.2g s", math.Ceil(float64(q.Count)/math.Max(o.viewTime, 1e-9)), o.viewTime)
}
