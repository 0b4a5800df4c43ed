package predict

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"padside/units"
	"padside/wording"
)

// exactly is the relative uncertainty below which an answer does not depend on what is uncertain: the integrator's own error is larger.
const exactly = 1e-7

// Text writes a prediction as tables for a person.
func (s *Sheet) Text(w io.Writer) error {
	if s.Title != "" {
		fmt.Fprintf(w, "%s\n\n", s.Title)
	}
	t := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	fmt.Fprintln(t, "phase\tfrom\tto")
	for _, p := range s.Phases {
		fmt.Fprintf(t, "%s\t%.4g s\t%.4g s\n", p.Name, p.From, p.To)
	}
	fmt.Fprintln(t, "\t\t")
	fmt.Fprintln(t, "\tvalue\t95 % interval")
	for _, a := range s.Answers {
		u := units.Unit{Symbol: a.Unit, Num: 1, Den: 1}
		value, interval := wording.Text(a, u)
		if a.Value != nil && *a.U <= exactly**a.Value {
			value, interval = fmt.Sprintf("%.5g %s", *a.Value, a.Unit), "exact for the inputs as stated"
		}
		fmt.Fprintf(t, "%s\t%s\t%s\n", Name(a.ID), value, interval)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	if q := s.Sweep; q != nil {
		q.text(w)
	}
	return nil
}

// Name says an answer of a prediction, or of a fit, in words.
func Name(id string) string {
	names := map[string]string{"initial_thrust": "thrust at first motion", "total_impulse": "total impulse", "end_of_water_speed": "speed at the end of the water",
		"end_of_thrust_speed": "speed at the end of thrust", "end_of_thrust_time": "end of thrust, from first motion", "peak_speed": "peak speed",
		"peak_acceleration": "peak acceleration", "apogee": "apogee", "apogee_time": "apogee, from first motion", "stored_energy": "energy stored in the bottle",
		"rod_exit_speed": "speed at the end of the launch rod", "flight_peak_speed": "peak speed of the whole flight", "measured_impulse": "impulse, measured without the model", "coast_drag_area": "drag area, from the coast alone"}
	if n, ok := names[id]; ok {
		return n
	}
	return strings.ReplaceAll(id, "_", " ")
}

func (s *Sweep) text(w io.Writer) {
	fmt.Fprintf(w, "\n%s over %s in %s\n", Name(s.Goal), s.Key, s.asked.Symbol)
	t := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	for i, p := range s.Points {
		if i%5 != 0 {
			continue
		}
		if p.Value == nil {
			fmt.Fprintf(t, "  %.4g\tcannot fly\t\n", s.asked.FromSI(p.At))
			continue
		}
		fmt.Fprintf(t, "  %.4g\t%.4g\t%.4g to %.4g\n", s.asked.FromSI(p.At), *p.Value, p.Interval[0], p.Interval[1])
	}
	t.Flush()
	if o := s.Optimum; o != nil {
		fmt.Fprintf(w, "best at %.4g %s (between %.4g and %.4g): %.4g\n", s.asked.FromSI(o.At), s.asked.Symbol, s.asked.FromSI(o.Interval[0]), s.asked.FromSI(o.Interval[1]), o.Value)
	}
}
