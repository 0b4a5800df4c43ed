package desk

import (
	"context"
	"fmt"
	"image"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"padside/fault"
	"padside/footage"
	"padside/logbook"
	"padside/metrology"
	"padside/wording"
)

// ClipOptions says how marked clips are made. The zero value marks everything, slowed so that the
// flight plays in some seconds, at the footage's own shape or, where that is narrower than a
// telephone's screen, at that, and writes nothing.
type ClipOptions struct {
	Options
	Out     string        // the file to write, .mp4 or .webm; a folder: an .mp4 for each launch in it; empty: none
	Overlay string        // what is marked alone, with alpha: .mov, or a folder for PNG pictures; empty: none
	Slow    float64       // how many times slower than life it plays; 0: chosen
	Shape   string        // one of ClipShapes; empty: chosen
	Fit     string        // "crop" or "pad", of footage of another shape; empty: crop where that leaves the flight whole
	Hide    []string      // of ClipParts what is left out, or "all"
	Freeze  string        // "speeds" (also where it is empty), "gates" or "none": at which it stands still for a while
	Units   wording.Units // empty: as the questions were asked
	FFmpeg  string        // the program; empty means PADSIDE_FFMPEG, or else ffmpeg on PATH
}

// ClipShapes are the shapes a marked clip may have, width to height; the first is that of the
// footage.
var ClipShapes = []string{"as-filmed", "16:9", "9:16", "1:1"}

// ClipParts are the parts of a marked clip that may be left out.
var ClipParts = []string{"title", "gates", "trail", "clock", "speed", "acceleration", "splits", "card"}

// clipFreezes are at what a clip may stand still.
var clipFreezes = []string{"speeds", "gates", "none"}

// ClipSheet says what marked clips were made, in the shape of the contract.
type ClipSheet struct {
	Format   string          `json:"format"`
	Version  int             `json:"version"`
	Program  string          `json:"program"`
	Seed     uint64          `json:"seed"`
	Clips    []MarkedClip    `json:"clips"` // one for each launch
	Warnings []fault.Warning `json:"warnings"`
}

// MarkedClip is what was made of one launch. Clip and overlay have the same frames.
type MarkedClip struct {
	Title       string            `json:"title"`
	Launch      string            `json:"launch"`
	Lane        int               `json:"lane"`
	Clip        *RaceFile         `json:"clip,omitempty"`
	Overlay     *RaceFile         `json:"overlay,omitempty"`
	FootageAt   [2]int            `json:"footage_at"`     // px of the clip where the footage's top left pixel lies; negative: cut off
	FirstMotion *metrology.Answer `json:"first_motion"`   // s, from which the clock counts; without a value there is no clock
	Shown       []Shown           `json:"shown"`          // what the clip shows from which of its frames on
	Card        int               `json:"card,omitempty"` // its frame from which on the end card stands; 0: none
}

// Shown says which frame of the footage a clip shows from a frame of its own on, both from 0.
type Shown struct {
	Frame   int     `json:"frame"`
	Footage int     `json:"footage"`
	T       float64 `json:"t"` // s after first motion or, where that was not measured, after the first frame shown
}

// JSON returns the sheet with a final line break.
func (s *ClipSheet) JSON() ([]byte, error) {
	return indented(s)
}

// Clip measures launches and makes a marked clip of each. An entry is the path of a launch file,
// with ":2" behind it for the second vehicle of its footage. Files appear whole or not at all.
func Clip(ctx context.Context, entries []string, o ClipOptions) (*ClipSheet, error) {
	list, err := clipEntries(entries, o)
	if err != nil {
		return nil, err
	}
	if err := o.check(); err != nil {
		return nil, err
	}
	var launches []*logbook.Launch
	for _, e := range list {
		l, err := logbook.ReadLaunch(e.path)
		if err != nil {
			return nil, err
		}
		if err := e.check(o.FFmpeg); err != nil {
			return nil, err
		}
		launches = append(launches, l)
	}
	s := &ClipSheet{Format: "padside-clip", Version: 1, Program: Program, Seed: max(1, o.Seed), Warnings: []fault.Warning{}}
	for i, l := range launches {
		one := o
		if p := o.Progress; p != nil && len(list) > 1 {
			one.Progress = func(stage string, done, total int) { p(list[i].name+" "+stage, done, total) }
		}
		f, err := followLaunch(ctx, l, one.Options)
		if err != nil {
			return nil, about(l.Path, err)
		}
		if err := s.mark(ctx, l, f, list[i], one); err != nil {
			return nil, err
		}
	}
	return s, nil
}

// mark makes the clip of a launch that was followed.
func (s *ClipSheet) mark(ctx context.Context, l *logbook.Launch, f *followed, e clipEntry, o ClipOptions) error {
	m, err := f.answer(ctx, l, o.Options)
	if err != nil {
		return err
	}
	k, err := newMarking(m, f, e, o)
	if err != nil {
		return err
	}
	made, err := k.write(ctx)
	if err != nil {
		return err
	}
	s.Clips = append(s.Clips, *made)
	s.Warnings = append(s.Warnings, m.Sheet.Warnings...)
	s.Warnings = append(s.Warnings, k.warnings...)
	return nil
}

// check refuses what cannot be done whatever the launch.
func (o *ClipOptions) check() error {
	if o.Slow < 0 || math.IsNaN(o.Slow) || math.IsInf(o.Slow, 0) {
		return fault.Requestf("give how many times slower than life, for example 40", "a clip cannot be slowed by %g", o.Slow)
	}
	of := func(what, is string, list ...string) error {
		if is == "" || slices.Contains(list, is) {
			return nil
		}
		return fault.Requestf("choose of "+strings.Join(list, ", "), "%s cannot be %q", what, is)
	}
	for _, err := range []error{of("the shape", o.Shape, ClipShapes...), of("the fit", o.Fit, "crop", "pad"), of("the freeze", o.Freeze, clipFreezes...)} {
		if err != nil {
			return err
		}
	}
	for _, h := range o.Hide {
		if err := of("what is hidden", h, append(slices.Clone(ClipParts), "all")...); err != nil {
			return err
		}
	}
	_, err := wording.New(logbook.Questions{}, o.Units)
	return err
}

// hides says whether a part is left out.
func (o *ClipOptions) hides(part string) bool {
	return slices.Contains(o.Hide, part) || slices.Contains(o.Hide, "all")
}

// shape is the shape asked for; that of the footage is the zero one.
func (o *ClipOptions) shape(size image.Point) image.Point {
	upright, lying := image.Pt(9, 16), image.Pt(16, 9)
	switch o.Shape {
	case "16:9":
		return lying
	case "9:16":
		return upright
	case "1:1":
		return image.Pt(1, 1)
	case "":
		if size.X*upright.Y < size.Y*upright.X {
			return upright
		}
		if size.X*lying.Y > size.Y*lying.X {
			return lying
		}
	}
	return image.Point{}
}

// clipEntry is a launch to be marked and what is written of it.
type clipEntry struct {
	entry
	out, overlay string // files; overlay may be a folder; empty: none
}

// clipEntries reads which launches are marked, and names the files.
func clipEntries(args []string, o ClipOptions) ([]clipEntry, error) {
	var out []clipEntry
	for _, a := range args {
		e := clipEntry{entry: entryOf(a)}
		e.name = strings.TrimSuffix(filepath.Base(e.path), filepath.Ext(e.path))
		if dir, err := filepath.Abs(filepath.Dir(e.path)); err == nil && e.name == "launch" {
			e.name = filepath.Base(dir)
		}
		if e.lane > 0 {
			e.name += fmt.Sprintf("-%d", e.lane)
		}
		e.out, e.overlay = o.Out, o.Overlay
		if isFolder(o.Out) {
			e.out = filepath.Join(o.Out, e.name+".mp4")
		}
		if len(args) > 1 {
			if o.Out != "" && !isFolder(o.Out) || o.Overlay != "" && !isFolder(o.Overlay) {
				return nil, fault.Requestf("give a folder", "the clips of %d launches cannot be one file", len(args))
			}
			if o.Overlay != "" {
				e.overlay = filepath.Join(o.Overlay, e.name)
			}
		}
		for _, k := range out {
			if k.name == e.name {
				return nil, fault.Requestf("make them one after the other, each with its own --out", "%s and %s would both be written as %s", k.path, e.path, e.name)
			}
		}
		out = append(out, e)
	}
	return out, nil
}

// isFolder tells a folder, there or to be made, from a file.
func isFolder(path string) bool {
	if path == "" {
		return false
	}
	info, err := os.Stat(path)
	return err == nil && info.IsDir() || strings.HasSuffix(path, "/") || filepath.Ext(path) == ""
}

// check refuses files that cannot be written.
func (e *clipEntry) check(ffmpeg string) error {
	end := strings.ToLower(filepath.Ext(e.out))
	if e.out != "" && end != ".mp4" && end != ".webm" {
		return fault.Requestf("choose a name that ends in .mp4 or .webm", "the clip cannot be written as %s", e.out)
	}
	pictures := isFolder(e.overlay)
	if e.overlay != "" && !pictures && !strings.EqualFold(filepath.Ext(e.overlay), ".mov") {
		return fault.Requestf("choose a name that ends in .mov, or a folder for PNG pictures", "an overlay with alpha cannot be written as %s", e.overlay)
	}
	if pictures {
		if list, err := os.ReadDir(e.overlay); err == nil && len(list) > 0 {
			return fault.Requestf("choose a new folder, or empty it", "the overlay's pictures cannot be written into %s, which is not empty", e.overlay)
		}
	}
	for _, path := range []string{e.out, e.overlay} {
		if path == "" {
			continue
		}
		if err := logbook.CanWrite(path); err != nil {
			return err
		}
	}
	if e.out != "" || e.overlay != "" && !pictures {
		return footage.CanEncode(ffmpeg)
	}
	return nil
}
