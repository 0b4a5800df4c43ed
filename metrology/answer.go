package metrology

// Status says whether a question could be answered.
type Status string

const (
	// Measured: Value, U, Interval and Budget are set.
	Measured Status = "measured"
	// NotReached: the speed or height was not reached in view; no value.
	NotReached Status = "not-reached"
	// Insufficient: too few frames to say; no value.
	Insufficient Status = "insufficient"
)

// Interval is a closed interval [Lo, Hi] in the unit of the quantity it belongs to.
type Interval struct{ Lo, Hi float64 }

// Share is one entry of an uncertainty budget: the fraction of the variance of an
// answer that goes away when Source is held at its best value (0 to 1).
type Share struct {
	Source string  `json:"source"`
	Share  float64 `json:"share"`
}

// Answer is one reported quantity, in SI, as contract.md writes it. A Value never
// stands without its interval: pointers are nil unless Status is Measured.
type Answer struct {
	ID       string   `json:"id"`
	Lane     int      `json:"lane,omitempty"`
	Speed    *float64 `json:"speed,omitempty"`    // m/s, for *_to_speed
	Height   *float64 `json:"height,omitempty"`   // m, for gate_*
	From     *float64 `json:"from,omitempty"`     // m, for split_speed
	To       *float64 `json:"to,omitempty"`       // m, for split_speed
	Window   *float64 `json:"window,omitempty"`   // s, for peak_acceleration
	Expected *float64 `json:"expected,omitempty"` // m/s2, for free_fall_acceleration

	Unit     string      `json:"unit"` // "s", "m/s", "m/s2", ...
	Status   Status      `json:"status"`
	Value    *float64    `json:"value,omitempty"`
	U        *float64    `json:"standard_uncertainty,omitempty"`
	Interval *[2]float64 `json:"interval95,omitempty"` // shortest interval holding 95 %
	Budget   []Share     `json:"budget,omitempty"`     // largest share first

	Extrapolated bool   `json:"extrapolated,omitempty"`
	Reason       string `json:"reason,omitempty"` // why there is no value, one line
}
