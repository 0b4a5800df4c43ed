package trace

import (
	"testing"

	"padside/register"
)

// What stays behind is not the vehicle found again: after a frame in which it was missed a place must lie ahead of the last one.
func TestBehind(t *testing.T) {
	l := &lane{moved: true, ahead: [2]float64{0, -1}, patch: register.Area{W: 21, H: 41}, missing: 2, frame: 6}
	for i, y := range []float64{400, 380, 350, 310} {
		l.sights = append(l.sights, sighting{frame: i, x: 100, y: y})
	}
	behind := l.behind()
	if behind == nil {
		t.Fatal("behind() of a vehicle that flew and was missed is nil")
	}
	for _, c := range []struct {
		name string
		y    int // of the patch's top left corner
		want bool
	}{
		{"where it was last seen", 310 - 20, true},
		{"farther back", 350 - 20, true},
		{"ahead, slower", 265 - 20, false},
		{"as predicted", 190 - 20, false},
	} {
		if got := behind(90, c.y); got != c.want {
			t.Errorf("%s: behind(90, %d) = %v, want %v", c.name, c.y, got, c.want)
		}
	}
	l.missing = 0
	if l.behind() != nil {
		t.Error("behind() of a vehicle in view is not nil")
	}
}

// Two pieces that go far up together are a vehicle; two that drift are not, nor are two that go far aside.
func TestAlone(t *testing.T) {
	f := &follower{}
	for _, c := range []struct {
		name    string
		way     [2]float64
		company int
		want    bool
	}{
		{"far up, two", [2]float64{5, -300}, 2, false},
		{"far up, one", [2]float64{5, -300}, 1, true},
		{"drifts, two", [2]float64{2, -40}, 2, true},
		{"drifts, three", [2]float64{2, -40}, 3, false},
		{"aside, two", [2]float64{300, -100}, 2, true},
		{"falls, two", [2]float64{0, 300}, 2, true},
	} {
		if got := f.alone(&piece{way: c.way, company: c.company}); got != c.want {
			t.Errorf("%s: alone = %v, want %v", c.name, got, c.want)
		}
	}
}
