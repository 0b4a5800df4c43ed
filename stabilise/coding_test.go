package stabilise

import (
	"testing"
)

func TestCodedBetween(t *testing.T) {
	for _, c := range []struct {
		name string
		src  Clip
		want bool
	}{
		{"not known", still{}, false},
		{"one key frame", clip{n: 40, keys: []int{0}}, true},
		{"each a key frame", clip{n: 3, keys: []int{0, 1, 2}}, false},
	} {
		if got := CodedBetween(c.src); got != c.want {
			t.Errorf("%s: codedBetween = %v, want %v", c.name, got, c.want)
		}
	}
}

// clip is footage of which only the key frames are known.
type clip struct {
	n    int
	keys []int
}

func (c clip) Len() int         { return c.n }
func (c clip) KeyFrames() []int { return c.keys }

// still is footage that knows nothing of its coding.
type still struct{}

func (still) Len() int { return 40 }
