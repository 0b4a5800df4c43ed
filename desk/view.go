package desk

import (
	"time"

	"padside/fault"
	"padside/motion"
	"padside/wording"
)

// LaunchState says what is known of a launch.
type LaunchState string

// The states of a launch.
const (
	StateNew       LaunchState = "new"       // never measured
	StateMeasured  LaunchState = "measured"  // the answers belong to the launch file as it is
	StateStale     LaunchState = "stale"     // the launch file was changed since
	StateMeasuring LaunchState = "measuring" // a job is at it
	StateFailed    LaunchState = "failed"    // the last job failed

	// The answers belong to the launch file, but not to the footage that lies in its place, or none does: heats and comparisons leave the launch out.
	StateFootageChanged LaunchState = "footage-changed"
	StateFootageMissing LaunchState = "footage-missing"
)

// KeyText is one line of conditions.
type KeyText struct {
	Key  string `json:"key"`
	Text string `json:"text"`
}

// Card is a launch on the logbook page.
type Card struct {
	Name       string          `json:"name"`
	Title      string          `json:"title"`
	Vehicle    string          `json:"vehicle"`
	Date       string          `json:"date"`
	Setup      string          `json:"setup"`
	Conditions []KeyText       `json:"conditions"`
	State      LaunchState     `json:"state"`
	Problem    string          `json:"problem"` // one line, where the launch file cannot be read or measuring failed
	Frames     int             `json:"frames"`
	Basis      string          `json:"basis"`
	RateHz     float64         `json:"rate_hz"`
	Exposure   bool            `json:"exposure"` // there is a multiple-exposure picture
	Chief      []wording.Chief `json:"chief"`
	Changed    time.Time       `json:"changed"`
}

// View is all that the launch page shows, pictures apart. Quantities are SI, places in px as Sheet has them.
type View struct {
	Name       string    `json:"name"`
	Title      string    `json:"title"`
	Vehicle    string    `json:"vehicle"`
	Date       string    `json:"date"`
	Setup      string    `json:"setup"`
	Conditions []KeyText `json:"conditions"`

	Revision string `json:"revision"`
	CanUndo  bool   `json:"can_undo"`
	CanRedo  bool   `json:"can_redo"`
	UndoWhat string `json:"undo_what"`
	RedoWhat string `json:"redo_what"`

	State   LaunchState `json:"state"`
	Problem *Problem    `json:"problem"`
	Job     *Job        `json:"job"`

	Footage   *FootageLine     `json:"footage"`          // null until the footage was opened
	Accepted  string           `json:"footage_accepted"` // that its answers count although its footage changed or went, in words; else empty
	Times     []float64        `json:"times"`
	From      int              `json:"from"`
	To        int              `json:"to"`
	Lanes     []LaneView       `json:"lanes"`
	Answers   []wording.Answer `json:"answers"`
	Advice    string           `json:"advice"`
	Warnings  []fault.Warning  `json:"warnings"`
	Questions QuestionsView    `json:"questions"`
	Marks     []MarkView       `json:"marks"` // set by hand, as the launch file has them
	Follow    FollowView       `json:"follow"`
	Units     wording.Units    `json:"units"`
}

// MarkView is a place of a vehicle set by hand: px, in the frame as filmed.
type MarkView struct {
	Lane  int     `json:"lane"`
	Frame int     `json:"frame"`
	X     float64 `json:"x"`
	Y     float64 `json:"y"`
}

// FollowView says how the vehicle is found and followed.
type FollowView struct {
	Frame int         `json:"frame"`
	Box   *[4]float64 `json:"box"` // null: found by itself
	Lanes int         `json:"lanes"`
}

// LaneView is one vehicle.
type LaneView struct {
	RecorderLane
	Name    string         `json:"name"`
	Trace   []TraceRow     `json:"trace"`
	History []motion.State `json:"history"`
}

// QuestionsView is what is asked, as a person writes it.
type QuestionsView struct {
	Speeds    []string `json:"speeds"`
	Gates     []string `json:"gates"`
	DropCheck bool     `json:"drop_check"`
}
