package logbook

import (
	"math/big"

	"padside/units"
)

// Format is the launch file format this package reads and writes.
const Format = 1

// Launch is a launch file. Quantities are SI; Quantity.Unit keeps the unit as written.
type Launch struct {
	Path string // of the file, as given to ReadLaunch

	Title, Vehicle, Date, Setup string
	Kind                        string // what flies: "bottle", "motor" or "drop"; empty where not stated
	Flight                      string // the vehicle's flight file, resolved against the launch file; empty: none

	Conditions     []Condition // in the order written
	Latitude       *float64    // rad, nil where not stated
	Elevation      *float64    // m
	AirTemperature *float64    // K

	Footage   Footage
	Time      Time
	Scale     Scale
	Camera    Camera
	Trace     Trace
	Questions Questions
}

// Condition is one line of [conditions]. Keys the program knows have a Dimension and a
// Quantity; others are kept as text.
type Condition struct {
	Key       string
	Text      string          // as written
	Dimension units.Dimension // 0 where the key is not known
	Quantity  units.Quantity
}

// Footage says what was filmed.
type Footage struct {
	Path   string // resolved against the launch file
	Given  string // as written
	Rotate int    // quarter turns clockwise, 0 to 3
	From   int    // first frame to use
	To     int    // last frame to use; -1: all
}

// Time says how the true time of each frame is known.
type Time struct {
	Basis         string // "container", "rate", "exif", "list"; "": container for clips, exif for stills
	Rate          units.Quantity
	RateExact     *big.Rat  // Hz, the rate as the exact number written; nil where none is
	Stretches     []Stretch // of footage that was filmed at several rates in turn, for "rate"
	Exposure      float64   // s
	ExposureGiven bool
	Shutter       string // "global" or "rolling"; "": not stated
	RowTime       units.Quantity
	RowTimeGiven  bool
	Times         []float64 // s, for "list"
	TimesU        []float64 // s, standard uncertainty of each; nil if none is stated
}

// Stretch is a run of frames filmed at one rate, up to the next stretch.
type Stretch struct {
	From      int // first frame, counted from 0
	Rate      units.Quantity
	RateExact *big.Rat // Hz
}

// Scale says where metres come from. The Given fields tell a stated value from none.
type Scale struct {
	Kind   string // "rod", "length", "plane"
	Marks  []RodMark
	MarkU  *float64 // px; nil: not stated
	OnLine bool     // the reference lies on the flight line itself
	Points []PlanePoint
	Length units.Quantity
	Ends   [][2]float64 // x, y; two of them for kind "length"

	RodRange, FlightRange, Lean                             units.Quantity
	LengthGiven, RodRangeGiven, FlightRangeGiven, LeanGiven bool
}

// RodMark is a mark of a rod: its height and its place in the picture, px.
type RodMark struct {
	At    units.Quantity
	X, Y  float64
	U     *float64        // px, standard uncertainty of its place; nil: the scale's
	Width *units.Quantity // px, how wide one and the same object looks there; nil: not stated
}

// PlanePoint is a known point of a plane: m, and its place in the picture, px.
type PlanePoint struct {
	AtX, AtY float64
	X, Y     float64
	U        *float64 // px, standard uncertainty of its place; nil: the scale's
}

// Camera is what is known of camera and lens.
type Camera struct {
	FocalLength, PixelPitch units.Quantity // m; 0: not stated
	Tilt                    units.Quantity
	TiltGiven               bool
	K1, K2                  float64
}

// Trace says how to find and follow the vehicle.
type Trace struct {
	Frame  int          // in which Box holds the part to follow
	Box    *[4]float64  // x, y, width, height; nil: found by itself
	Steady [][4]float64 // still patches
	Lanes  int          // 1 where not stated
	Follow bool         // true where not stated
	Fixed  bool         // of marks alone: the camera stood still
	Marks  []HandMark
}

// HandMark is a place of the vehicle set by hand.
type HandMark struct {
	Frame int
	Lane  int // 1 where not stated
	X, Y  float64
	U     float64 // px, standard uncertainty of either coordinate; 0: not stated
}

// Questions is what is asked of the launch.
type Questions struct {
	Speeds    []units.Quantity // m/s, increasing
	Gates     []float64        // m, increasing
	GateUnit  string           // the unit the first gate was written in; "": m
	DropCheck bool

	AverageSpeeds []FrameSpan // in the order written
}

// FrameSpan is the mean speed from one frame to a later one, counted from 0.
type FrameSpan struct{ From, To int }
