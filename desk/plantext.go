package desk

import (
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"padside/logbook"
	"padside/metrology"
	"padside/shoot"
	"padside/units"
	"padside/wording"
)

// Text writes a plan for a person: what each mode sees, how it would be set, and what it would answer.
func (s *PlanSheet) Text(w io.Writer) error {
	r, err := planReader(&s.shoot)
	if err != nil {
		return err
	}
	if s.Title != "" {
		fmt.Fprintf(w, "%s\n", s.Title)
	}
	fmt.Fprintf(w, "%s, %s\n", s.given(), s.keepOff())
	for _, o := range s.Options {
		fmt.Fprintf(w, "\n%s\n", o.Name())
		for _, line := range optionLines(o) {
			fmt.Fprintf(w, "  %s\n", line)
		}
		t := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
		for i, q := range o.Questions {
			fmt.Fprintf(t, "  %s\t%s\t%s\n", strings.ToUpper(string(q.Verdict)), asking(r, s.shoot.Questions[i]), forecastText(q))
			if q.Change != "" {
				fmt.Fprintf(t, "  \t\tit would help: %s\n", q.Change)
			}
		}
		if err := t.Flush(); err != nil {
			return err
		}
	}
	if len(s.Pictures) == 0 {
		return nil
	}
	fmt.Fprintln(w)
	t := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	fmt.Fprintln(t, "chance of pictures in flight\tone\ttwo\tthree\tpress")
	for _, p := range s.Pictures {
		fmt.Fprintf(t, "%s, pressed %s\t%.0f %%\t%.0f %%\t%.0f %%\t%s\n", p.Camera, p.Trigger, 100*p.Chance[0], 100*p.Chance[1], 100*p.Chance[2], pressText(p.Start))
	}
	return t.Flush()
}

// keepOff says how far people must be.
func (s *PlanSheet) keepOff() string {
	switch {
	case s.StandOff != nil:
		return fmt.Sprintf("nobody within %.3g m", *s.StandOff)
	case s.shoot.Expected.Falls():
		return "nobody below"
	}
	return "stand-off as the range safety officer says"
}

// given says what is the same for all modes.
func (s *PlanSheet) given() string {
	text := fmt.Sprintf("light of EV %.3g, camera at %.3g m", s.shoot.Light, s.shoot.Place.Range.Value)
	if s.flysAs != "" {
		text += ", expected to fly as " + s.flysAs
	}
	return text
}

// optionLines say what a mode sees and how it would be set.
func optionLines(o *shoot.Option) []string {
	along := "to the zenith"
	if o.FieldAlong != nil {
		along = fmt.Sprintf("%.3g m along the flight", *o.FieldAlong)
	}
	see := fmt.Sprintf("sees %s, %.3g m across, %.3g mm a pixel, tilted %.2g deg; %d frames in flight", along, o.FieldAcross, o.MMPerPixel, o.Tilt*180/math.Pi, o.FramesInView)
	if o.Record != nil {
		see += fmt.Sprintf("; holds %.3g s", *o.Record)
	}
	set := fmt.Sprintf("%s at f/%.2g, ISO %.0f: the vehicle blurs over %.2g px where it is fastest", shoot.Shutter(o.Exposure), o.Aperture, o.ISO, o.Blur)
	if o.ISONeeded > 1.01*o.ISO {
		set += fmt.Sprintf(" (1 px needs EV %.1f)", o.LightNeeded)
	}
	sharp := ""
	if o.Depth[0] != nil {
		sharp = fmt.Sprintf("sharp from %.3g m on", *o.Depth[0])
		if o.Depth[1] != nil {
			sharp = fmt.Sprintf("sharp from %.3g m to %.3g m", *o.Depth[0], *o.Depth[1])
		}
	}
	lines := []string{see, set, sharp}
	if o.Advice != "" {
		lines = append(lines, o.Advice)
	}
	return lines
}

// planReader words the questions of a shoot in the units they were asked in.
func planReader(s *shoot.Shoot) (wording.Reader, error) {
	var q logbook.Questions
	for _, a := range s.Questions {
		if a.Speed > 0 {
			q.Speeds = append(q.Speeds, units.Quantity{Value: a.Speed, Unit: a.Unit})
		}
	}
	return wording.New(q, wording.Units{})
}

// asking says a question of a plan in words.
func asking(r wording.Reader, q shoot.Question) string {
	if q.Answer == shoot.Pictures {
		return fmt.Sprintf("%d pictures in flight", q.Count)
	}
	return r.Name(metrology.Answer{ID: q.Answer, Speed: &q.Speed, Height: &q.Height, From: &q.From, To: &q.To})
}

// forecastText says what is foreseen of a question, and what was rehearsed.
func forecastText(q shoot.Forecast) string {
	text := q.Reason
	if r := q.Rehearsed; r != nil {
		text += "; rehearsed: "
		if r.Half == nil {
			text += fmt.Sprintf("no answer in %d takes", r.Takes)
		} else {
			text += fmt.Sprintf("half width %.2g %%, error %.2g %%, %d of %d intervals held", 100**r.Half, 100**r.Error, r.Covered, r.Answered)
			if r.Answered < r.Takes {
				text += fmt.Sprintf(", %d takes without an answer", r.Takes-r.Answered)
			}
		}
	}
	return text
}

// burstText says what a burst would catch, in a sentence.
func burstText(c shoot.Caught) string {
	return fmt.Sprintf("%s, pressed %s: one picture of the flight with a chance of %.0f %%, two with %.0f %%, three with %.0f %% (press %s).",
		c.Camera, c.Trigger, 100*c.Chance[0], 100*c.Chance[1], 100*c.Chance[2], pressText(c.Start))
}

// pressText says when to press.
func pressText(start float64) string {
	switch {
	case start < -0.0005:
		return fmt.Sprintf("%.2f s before first motion", -start)
	case start > 0.0005:
		return fmt.Sprintf("%.2f s after first motion", start)
	}
	return "with the launch"
}
