package main

import (
	"encoding/json"
	"fmt"

	"github.com/spf13/cobra"

	"padside/footage"
)

func newInspect() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "inspect FOOTAGE",
		Short: "Say what is known about a clip or a set of stills",
		Long: `Opens a clip, a folder of stills or a glob, counts its frames, reads their times, and
warns where the times cannot be trusted.

` + exits,
		Args: oneArgument("a clip, a folder of stills or a glob"),
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
			fmt.Fprintf(w, "  picture   %d x %d px, %s, turned by %d degrees\n", r.Width, r.Height, r.Codec, r.Rotation)
			if s := r.Stamps; s != nil {
				fmt.Fprintf(w, "  stamps    %.6f s to %.6f s\n", s.First, s.Last)
				fmt.Fprintf(w, "  steps     %.6f s to %.6f s, %s\n", s.Smallest, s.Largest, map[bool]string{true: "constant", false: "uneven"}[s.Constant])
			}
			if c := r.Camera; c != nil {
				fmt.Fprintf(w, "  camera    exposure %.6g s, f/%.3g, ISO %d, focal length %.3g mm\n", c.Exposure, c.FNumber, c.ISO, 1e3*c.FocalLength)
			}
			fmt.Fprintf(w, "  sha256    %s\n", r.SHA256)
			return nil
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print everything as JSON")
	return cmd
}
