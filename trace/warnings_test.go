package trace

import (
	"slices"
	"testing"
)

func TestDoubts(t *testing.T) {
	t.Parallel()
	f := &follower{o: Options{To: 100}}
	points := func(source string, frames ...int) (p []Point) {
		for _, i := range frames {
			p = append(p, Point{Frame: i, Source: source})
		}
		return p
	}
	for _, c := range []struct {
		name string
		lane lane
		path Path
		want []string
	}{
		{"all well", lane{left: true}, Path{Points: points(SourceFollowed, 0, 1, 2)}, nil},
		{"to the end", lane{}, Path{Points: points(SourceFollowed, 0, 50, 99)}, nil},
		{"coarse", lane{left: true}, Path{Points: points(SourceCoarse, 0, 1, 2)}, []string{"trace-coarse"}},
		{"lost", lane{}, Path{Points: points(SourceFollowed, 0, 1, 2)}, []string{"trace-lost"}},
		{"landed", lane{turned: true}, Path{Points: points(SourceFollowed, 0, 1, 2)}, nil},
		{"gaps", lane{left: true}, Path{Points: points(SourceFollowed, 0, 9), Dropped: []Dropped{{3, ""}, {4, ""}, {5, ""}, {20, ""}}}, []string{"trace-gaps"}},
		{"nothing", lane{}, Path{}, nil},
	} {
		var got []string
		for _, w := range f.doubts(&c.lane, &c.path) {
			got = append(got, w.Code)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: doubts = %v, want %v", c.name, got, c.want)
		}
	}
}
