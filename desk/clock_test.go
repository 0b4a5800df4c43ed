package desk

import (
	"encoding/json"
	"math/big"
	"reflect"
	"testing"

	"padside/footage"
	"padside/logbook"
	"padside/timebase"
	"padside/trace"
)

// TestClockIsKept: what is known of the times comes back from recorder.json as it was, so that a
// launch kept is answered as it was when it was followed.
func TestClockIsKept(t *testing.T) {
	t.Parallel()
	b, err := timebase.NewRate(big.NewRat(240, 1), timebase.Options{ExposureUnknown: true,
		Shutter: timebase.Shutter{Kind: timebase.Rolling, RowTime: 2.8e-6, RowTimeU: 0.1e-6}})
	if err != nil {
		t.Fatal(err)
	}
	seen := &trace.Result{}
	seen.Exposure.Seen, seen.Exposure.Least, seen.Exposure.Most = true, 1e-3, 2e-3
	f := &followed{info: footage.Info{Kind: footage.Clip, Width: 720, Height: 1280}, base: b, seen: seen}
	c := f.clock(&logbook.Launch{Time: logbook.Time{Basis: "rate"}})
	if len(c.Doubt.Scans) != 1 || len(c.Unstated) < 2 || c.Interval == 0 || c.Doubt.Longest != 2e-3 {
		t.Fatalf("%+v", c)
	}
	text, err := json.Marshal(Recorder{clock: c})
	if err != nil {
		t.Fatal(err)
	}
	var back Recorder
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(back.clock, c) {
		t.Errorf("kept as %+v, want %+v", back.clock, c)
	}
}
