package main

import (
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"padside/desk"
)

func newRace() *cobra.Command {
	var o desk.RaceOptions
	var asJSON bool
	var out string
	c := &cobra.Command{
		Use:   "race LAUNCH.toml LAUNCH.toml... | HEAT.toml",
		Short: "Race launches side by side: a slowed clip, and a photo finish",
		Long: `Sets two to eight launches side by side, each counted from its own first motion, and
shows who passes a height first: as a slowed H.264 clip with a running clock, and as
a photo finish, the streaks of all on one axis of time. Launches that their intervals
do not separate share a place. Footage with several vehicles counts as one launch for
each; LAUNCH.toml:2 takes only the second. A heat file stands for its entries; its
rules are left to padside heat.

Without --out and --still it writes race.mp4. A folder for --out gets race.mp4 and
photo-finish.png.`,
		Example: "  padside race heron/launch.toml kite/launch.toml\n  padside race fill-*/launch.toml --finish \"2 m\" --slow 40 --out results\n  padside race heat/launch.toml --still photo-finish.png",
		Args:    someArguments("the launch files to race"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Clip, o.Still = raceFiles(out, o.Still)
			s, err := watched(cmd, func(progress func(string, int, int)) (*desk.RaceSheet, error) {
				o.Progress = progress
				return desk.Race(cmd.Context(), args, o)
			})
			if err != nil {
				return err
			}
			return say(cmd, s, asJSON, s.Warnings)
		},
	}
	f := c.Flags()
	jsonFlag(c, &asJSON)
	f.StringVar(&out, "out", "", "write the clip to `FILE`.mp4, or clip and photo finish into a folder")
	f.StringVar(&o.Still, "still", "", "write the photo finish to `FILE`.png")
	f.StringVar(&o.Finish, "finish", "", "the `HEIGHT` raced to, such as \"2 m\" (default: the highest gate that all were asked for and reach)")
	f.Float64Var(&o.Slow, "slow", 0, "play `N` times slower than life (default: about 8 seconds in all)")
	f.BoolVar(&o.AsFilmed, "as-filmed", false, "show each launch at its own scale instead of all at the same metres per pixel")
	seedFlag(c, &o.Seed)
	return c
}

// raceFiles names what is written: out is a file or a folder.
func raceFiles(out, still string) (clip, photo string) {
	if out == "" {
		if still == "" {
			return "race.mp4", ""
		}
		return "", still
	}
	info, err := os.Stat(out)
	if err == nil && info.IsDir() || strings.HasSuffix(out, "/") || filepath.Ext(out) == "" {
		if still == "" {
			still = filepath.Join(out, "photo-finish.png")
		}
		return filepath.Join(out, "race.mp4"), still
	}
	return out, still
}
