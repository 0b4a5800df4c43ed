package motion

import (
	"math/rand/v2"

	"padside/camera"
	"padside/fault"
	"padside/metrology"
	"padside/noise"
)

// Observation is the nominal height of the traced point in one frame.
type Observation struct {
	Frame  int
	T      float64     // s, when the traced row's exposure was centred
	H      float64     // m along the flight line, 0 near rest, positive away from the pad
	U      float64     // m, standard uncertainty of this frame alone (relative sizes are trusted, the level is estimated)
	DoubtU float64     // m, standard uncertainty of the error that neighbouring frames in flight have together, beside U; 0: nothing is known of one
	UT     float64     // s, standard uncertainty of this frame's time alone (stamp rounding); 0 when exact
	Even   *float64    // s, T as it would be had the camera taken its pictures evenly; nil if its stamps are even
	EvenU  float64     // s, standard uncertainty of Even, which neighbouring frames share
	Phase  noise.Phase // where between pixels the point lies; zero where that makes no difference
}

// Common is what all frames of a launch share. Draws must depend on the random sources alone.
type Common struct {
	// Sources names the parts of the common error that Warp draws, for the budget.
	Sources []string
	// Warp draws one possible truth: from setup what launches of one setup share, from launch what is this flight's own; the source named by hold ("" for none) stays at its best value.
	// Holding one source must not change the numbers drawn for the others.
	Warp func(setup, launch *rand.Rand, hold string) camera.Warp
	// Delay draws one possible truth of when the places of the flight line were seen, from what launches
	// of one setup share; the source named by hold stays at its best value. nil: as the
	// observations say. DelaySources names its parts, for the budget.
	Delay        func(setup *rand.Rand, hold string) Delay
	DelaySources []string
	// WarpAt is Warp given the delay drawn, where what is known of the two hangs together; nil: Warp.
	WarpAt func(d Delay, setup, launch *rand.Rand, hold string) camera.Warp
	// RateU is the relative standard uncertainty of the time base's rate.
	RateU float64
}

// Questions is what is asked of one launch, in SI.
type Questions struct {
	Speeds    []float64          // m/s, increasing
	Gates     []float64          // m, increasing
	Window    float64            // s, for peak_acceleration; 0: the shortest that keeps its standard uncertainty under 2.5 %
	DropCheck bool               // report free_fall_acceleration; H is then positive along the fall
	Gravity   metrology.Estimate // local gravity, for Expected
}

// Input is one lane of one launch.
type Input struct {
	Lane         int
	Observations []Observation // in order of time; those before first motion included
	Interval     float64       // s, frame interval of footage whose stamps go on evenly whatever the camera did; 0: the times cannot slip
	LeftView     bool          // the vehicle left the picture before the footage ended
	Kind         Kind          // what flies, where it is known
	RestU        float64       // m, standard uncertainty of an error that all frames at rest have in common
	PhaseU       float64       // m, standard uncertainty of either amplitude of the error that goes with Phase
	Common       Common
	Questions    Questions
	Seed         uint64 // of the path draws
	SetupSeed    uint64 // of the common draws: equal for launches that share a setup

	sway     *sway // the hypothesis about rest, nil for still
	given    []Observation
	byStamps []clock   // what uneven stamps may stand for, nil where they are taken as they are
	even     evenClock // what times of the clock supposed may be off by together
}

// State is one row of the history: SI, with standard uncertainties that include common errors.
type State struct {
	T             float64 `json:"t"`
	Height        float64 `json:"height"`
	Speed         float64 `json:"speed"`
	Acceleration  float64 `json:"acceleration"`
	UHeight       float64 `json:"u_height"`
	USpeed        float64 `json:"u_speed"`
	UAcceleration float64 `json:"u_acceleration"`
}

// Result is what motion says of one lane.
type Result struct {
	Lane     int
	Answers  []metrology.Answer
	Draws    [][]float64 // one row per answer, aligned with Answers: its value on each joint draw (NaN-free; nil when no value)
	History  []State
	Clock    Clock
	Warnings []fault.Warning
}
