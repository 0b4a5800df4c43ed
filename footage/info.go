package footage

import (
	"math/big"

	"padside/fault"
	"padside/timebase"
)

// Kind tells clips from stills.
type Kind string

// The two kinds of footage.
const (
	Clip   Kind = "clip"
	Stills Kind = "stills"
)

// Info is what the footage says about itself. Of a damaged clip, Frames, Stamps, Complete and Warnings may change once it has
// been read: some damage shows only then.
type Info struct {
	Path          string
	Kind          Kind
	Frames        int
	Width, Height int // px, after rotation
	Depth         int // significant bits per sample
	Codec         string
	Container     string
	Rotation      int        // degrees clockwise by which the stored picture was turned: 0, 90, 180, 270
	Mirrored      bool       // the stored picture was mirrored left to right before it was turned
	Stamps        []*big.Rat // s, exact as stored, one per frame; nil for stills without times
	StampU        float64    // s, standard uncertainty of one stamp from rounding
	StampsTrusted bool       // false where stamps are guesses or playback time
	CaptureRate   float64    // Hz, from the camera's own tag; 0 where there is none
	Names         []string   // file names of stills, in order
	Exposure      float64    // s; this and the next four from the first still's tags, 0 where unknown
	FNumber       float64
	ISO           int
	FocalLength   float64 // m
	FocalLength35 float64 // m, of the lens that shows as much on 36 x 24 mm
	Complete      bool    // false where frames are missing or damaged, as far as it is known: see below
	Warnings      []fault.Warning
	FFmpeg        string // version of the decoder; empty for stills

	readable int      // frames, where not Complete
	tick     *big.Rat // s, the grid the stamps were rounded to; nil where unknown
}

// Readout says which row of the stored picture, as the sensor's rows were read, shows a place of the upright picture.
func (i *Info) Readout() timebase.Readout {
	return orientation{i.Mirrored, i.Rotation / 90}.readout(i.Width, i.Height)
}

// Options changes how footage is opened. The zero value is right for most.
type Options struct {
	Rotate int    // quarter turns clockwise on top of the file's own; a multiple of 90 is read as degrees
	FFmpeg string // the ffmpeg program; empty means PADSIDE_FFMPEG, or else ffmpeg on PATH
	Quick  bool   // pictures of clips come in half the time; their colours may differ by a level or two from machine to machine

	CacheBytes int64 // for frames asked for one by one; 0 means 128 MiB
}

// warn adds a warning.
func (i *Info) warn(code, message string) {
	i.Warnings = append(i.Warnings, fault.Warning{Code: code, Message: message})
}
