package main

import (
	"strings"

	"github.com/spf13/cobra"

	"padside/desk"
	"padside/fault"
	"padside/units"
	"padside/wording"
)

func newClip() *cobra.Command {
	var o desk.ClipOptions
	var asJSON bool
	var unit []string
	c := &cobra.Command{
		Use:   "clip LAUNCH.toml...",
		Short: "Make the marked clip of a launch: slowed, with gates, clock and speed",
		Long: `Measures a launch and makes a clip to show: its footage slowed, in colour and at its
full size, with a line at every gate asked for, the followed point, a clock that counts from first
motion, speed and acceleration with their 95 % intervals, splits as gates are passed,
and the chief answers at the end. It stands still where speeds asked for are reached.

The clip is H.264 (.mp4) or VP9 (.webm). With --overlay what is marked is written by itself, frame for
frame as in the clip, with alpha: as QuickTime (.mov, run-length coded without loss), or as PNG
pictures in a folder. To get the slowed footage to lay it on, hide everything.

Without --out and --overlay it writes marked.mp4. A folder for --out gets an .mp4 for
each launch. LAUNCH.toml:2 marks the second vehicle of the footage.`,
		Example: `  padside clip heron/launch.toml --out heron.mp4
  padside clip heron/launch.toml --out heron.webm --shape 9:16 --slow 60 --units mph,g
  padside clip heron/launch.toml --overlay heron.mov --hide card --freeze none`,
		Args: someArguments("the launch files"),
		RunE: func(cmd *cobra.Command, args []string) error {
			var err error
			if o.Units, err = unitsOf(unit); err != nil {
				return err
			}
			if o.Out == "" && o.Overlay == "" {
				if o.Out = "marked.mp4"; len(args) > 1 {
					o.Out = "."
				}
			}
			s, err := watched(cmd, func(progress func(string, int, int)) (*desk.ClipSheet, error) {
				o.Progress = progress
				return desk.Clip(cmd.Context(), args, o)
			})
			if err != nil {
				return err
			}
			return say(cmd, s, asJSON, s.Warnings)
		},
	}
	f := c.Flags()
	jsonFlag(c, &asJSON)
	f.StringVar(&o.Out, "out", "", "write the clip to `FILE`, .mp4 or .webm, or into a folder")
	f.StringVar(&o.Overlay, "overlay", "", "write what is marked alone, with alpha, to `FILE`.mov, or as PNG pictures into a new folder")
	f.Float64Var(&o.Slow, "slow", 0, "play `N` times slower than life (default: so that the flight plays in some 6 seconds)")
	f.StringVar(&o.Shape, "shape", "", "`SHAPE` of the clip: "+strings.Join(desk.ClipShapes, ", ")+" (default: as filmed, but no narrower than 9:16)")
	f.StringVar(&o.Fit, "fit", "", "`HOW` footage fits another shape: crop or pad (default: crop where that keeps the whole flight)")
	f.StringSliceVar(&o.Hide, "hide", nil, "leave out `PARTS`, such as trail,card: "+strings.Join(desk.ClipParts, ", ")+", all")
	f.StringVar(&o.Freeze, "freeze", "speeds", "stand still for a moment `WHERE`: speeds (those asked for), gates, none")
	f.StringSliceVar(&unit, "units", nil, "show `UNITS`, such as mph,ft,g (default: as the questions were asked)")
	seedFlag(c, &o.Seed)
	return c
}

// unitsOf tells units of speed, length and acceleration apart.
func unitsOf(list []string) (out wording.Units, err error) {
	for _, s := range list {
		switch {
		case fits(s, units.Speed):
			out.Speed = s
		case fits(s, units.Length):
			out.Length = s
		case fits(s, units.Acceleration):
			out.Acceleration = s
		default:
			return out, fault.Requestf("give units such as km/h, m and g", "--units: %q is no unit of speed, length or acceleration", s)
		}
	}
	return out, nil
}

func fits(symbol string, d units.Dimension) bool {
	_, ok := units.Lookup(symbol, d)
	return ok
}
