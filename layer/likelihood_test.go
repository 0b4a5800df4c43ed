package layer

import (
	"reflect"
	"slices"
	"testing"
)

// Places that some of the vehicle's cells speak against are not looked at closer, and those found
// are the same as if all were.
func TestScreen(t *testing.T) {
	t.Parallel()
	spared := 0
	for seed := range uint64(3) {
		f := drawFlight(seed, flightFrames, 36)
		l := newLocator(f.band, f.known)
		l.begin(l.resting())
		l.learn()
		s := newSight(f.band, l.d)
		rows, cols := [2]int{0, flightRows}, [2]int{0, flightCols}
		for i := range f.band.Frames {
			s.frame(i)
			s.looks(l.t.blurred(l.blur(i)))
			got := s.look(rows, cols)
			field, _ := s.field(rows, cols)
			for _, v := range field {
				if v == unseen {
					spared++
				}
			}
			s.few = nil
			if want := s.look(rows, cols); !reflect.DeepEqual(got, want) {
				t.Errorf("seed %d, frame %d: found %+v, want %+v", seed, i, got, want)
			}
		}
	}
	if spared == 0 {
		t.Error("no place was spared")
	}
}

// What is found does not depend on how many frames are looked at at a time.
func TestWorkers(t *testing.T) {
	t.Parallel()
	var all [][]Located
	for _, workers := range []int{1, 3} {
		f := drawFlight(1, flightFrames, 36)
		f.known.Workers = workers
		all = append(all, Locate(f.band, f.known))
	}
	if !slices.EqualFunc(all[0], all[1], func(a, b Located) bool { return reflect.DeepEqual(a, b) }) {
		t.Error("three at a time find other places than one")
	}
}
