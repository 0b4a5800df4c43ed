package main

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"padside/footage"
)

func newInspect() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "inspect FOOTAGE",
		Short: "Say what is known about a clip or a set of stills",
		Long: `Opens a clip, a folder of stills or a glob, counts its frames, reads their times, and
warns where the times cannot be trusted.`,
		Example: "  padside inspect heron-350.mp4\n  padside inspect \"IMG_*.jpg\"",
		Args:    oneArgument("a clip, a folder of stills or a glob"),
		RunE: func(cmd *cobra.Command, args []string) error {
			r, err := footage.Inspect(cmd.Context(), args[0], footage.Options{})
			if err != nil {
				return err
			}
			w := cmd.OutOrStdout()
			if asJSON {
				e := json.NewEncoder(w)
				e.SetIndent("", "  ")
				return e.Encode(r)
			}
			warn(cmd.ErrOrStderr(), r.Warnings)
			fmt.Fprintf(w, "%s\n\n", args[0])
			fmt.Fprintf(w, "  frames    %d, %s\n", r.Frames, map[bool]string{true: "complete", false: "not complete"}[r.Complete])
			fmt.Fprintf(w, "  picture   %d x %d px, %s%s\n", r.Width, r.Height, r.Codec, turned(r.Rotation))
			if s := r.Stamps; s != nil {
				fmt.Fprintf(w, "  stamps    %s\n", stamps(s.First, s.Last))
				if rate := rateText(r); rate != "" {
					fmt.Fprintf(w, "  rate      %s\n", rate)
				}
				fmt.Fprintf(w, "  steps     %.6f s to %.6f s, %s\n", s.Smallest, s.Largest, map[bool]string{true: "constant", false: "uneven"}[s.Constant])
			}
			if c := r.Camera; c != nil {
				fmt.Fprintf(w, "  camera    %s\n", settings(c))
			}
			fmt.Fprintf(w, "  sha256    %s\n", r.SHA256)
			return nil
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print everything as JSON")
	return cmd
}

// turned says how the stored picture is turned upright, if it is.
func turned(degrees int) string {
	if degrees == 0 {
		return ""
	}
	return fmt.Sprintf(", turned by %d degrees clockwise", degrees)
}

// rateText says how many frames a second the stamps make, and what that is worth; empty where they make none.
func rateText(r footage.Report) string {
	s := r.Stamps
	if r.Frames < 2 || !(s.Last > s.First) {
		return ""
	}
	rate := fmt.Sprintf("%.5g a second by the stamps", float64(r.Frames-1)/(s.Last-s.First))
	if r.Camera != nil { // stills are not slowed
		return rate
	}
	return rate + "; where the camera filmed faster than the clip plays, state its true rate"
}

// stamps words the first and the last stamp, s. Those of stills count from 1970: they are the camera's clock.
func stamps(first, last float64) string {
	const aYear = 366 * 24 * 3600
	if first < aYear {
		return fmt.Sprintf("%.6f s to %.6f s", first, last)
	}
	clock := func(t float64) string {
		return time.UnixMilli(int64(math.Round(1e3 * t))).UTC().Format("2006-01-02 15:04:05.000")
	}
	return clock(first) + " to " + clock(last) + ", by the camera's clock"
}

// settings lists what the stills say of the camera.
func settings(c *footage.CameraTags) string {
	var list []string
	add := func(known bool, format string, v any) {
		if known {
			list = append(list, fmt.Sprintf(format, v))
		}
	}
	add(c.Exposure > 0, "exposure %.6g s", c.Exposure)
	add(c.FNumber > 0, "f/%.3g", c.FNumber)
	add(c.ISO > 0, "ISO %d", c.ISO)
	add(c.FocalLength > 0, "focal length %.3g mm", 1e3*c.FocalLength)
	add(c.FocalLength35 > 0, "as %.3g mm on 36 x 24 mm", 1e3*c.FocalLength35)
	return strings.Join(list, ", ")
}
