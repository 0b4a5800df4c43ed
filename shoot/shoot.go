package shoot

import "padside/camera"

// Shoot is a shoot as thought out, SI.
type Shoot struct {
	Title     string
	Cameras   []Camera
	Lens      Lens
	Place     Place
	Light     float64 // EV at ISO 100
	Reference Reference
	Expected  Expected
	Questions []Question
}

// Camera is one that could be used, with the modes it offers.
type Camera struct {
	Name       string
	PixelPitch float64 // m
	Modes      []Mode
	Shortest   float64 // s, exposure
	Longest    float64 // s
	LowestISO  float64
	HighestISO float64
	Memory     int             // frames it holds of one take; 0: no limit that matters
	Burst      *Burst          // of a camera that takes stills; nil: it films
	Lens       *Lens           // its own; nil: the shoot's
	Shutter    string          // Global, Rolling, or empty: not stated
	RowTime    camera.Measured // s from one row to the next of a rolling shutter
}

// Shutters: all rows of a picture at once, or one after another.
const (
	Global  = "global"
	Rolling = "rolling"
)

// Mode is a picture's size and how often it is taken.
type Mode struct {
	Width, Height int     // px, as the sensor lies
	Rate          float64 // Hz
}

// Burst is a run of stills.
type Burst struct {
	Frames int     // that one press takes at most
	Lag    float64 // s, from the press to the first picture
}

// Lens is a lens: the shoot's, in front of every camera that has none of its own.
type Lens struct {
	FocalLength float64 // m
	Widest      float64 // f-number
}

// Place is where the camera stands.
type Place struct {
	Range     camera.Measured // m, from the camera to the flight line, level
	Height    float64         // m, of the lens above the ground under the vehicle's tail
	Tilt      float64         // rad
	TiltGiven bool            // false: aimed so that the picture's lower edge shows the ground in front of the pad
	Lean      camera.Measured // rad, how the flight will lean out of the plane of view, as far as that is known; positive away from the camera
	Rotated   bool            // the camera lies on its side: its rows run along the flight line
}

// Reference is what will give the scale.
type Reference struct {
	Kind   string          // camera.KindRod, upright on the ground, or camera.KindLength, of the vehicle itself
	Length float64         // m
	Marks  int             // of a rod, evenly spaced from one end to the other
	Range  camera.Measured // m, of a rod
}

// Question is one that the footage is to answer.
type Question struct {
	Answer   string  // an id of the answers, or Pictures
	Speed    float64 // m/s, of time_to_speed and mean_acceleration_to_speed
	Unit     string  // the unit the speed was asked in; empty: m/s
	Height   float64 // m from rest, of gates
	From, To float64 // m from rest, of a split
	Count    int     // of Pictures
	Within   float64 // half width of the 95 % interval, relative, that is good enough
}

// Pictures asks for so many pictures of the vehicle in flight.
const Pictures = "pictures"

// Words for light, EV at ISO 100 (common practice, no source: full sun lets f/16 expose rightly at one over the ISO speed; each word down is that
// many stops less).
var lightWords = []struct {
	Word  string
	Light float64
}{{"full sun", 15}, {"bright overcast", 13}, {"heavy overcast", 12}, {"indoors", 7}}

// Light returns the light that a word stands for.
func Light(word string) (ev100 float64, ok bool) {
	for _, l := range lightWords {
		if l.Word == word {
			return l.Light, true
		}
	}
	return 0, false
}

// LightWords lists the words that Light knows, brightest first.
func LightWords() []string {
	var out []string
	for _, l := range lightWords {
		out = append(out, l.Word)
	}
	return out
}
