package stabilise

// Clip is footage that may know how its frames are coded: where it has methods KeyFrames() []int
// and Between() []int, they list the frames coded by themselves and those predicted from both
// sides.
type Clip interface {
	Len() int // frames
}

// mixedFrames lists the frames predicted from both sides; nil where that is not known.
func mixedFrames(src Clip) map[int]bool {
	b, ok := src.(interface{ Between() []int })
	if !ok {
		return nil
	}
	out := map[int]bool{}
	for _, i := range b.Between() {
		out[i] = true
	}
	return out
}

// CodedBetween reports whether most frames of the footage are coded as what differs from others.
func CodedBetween(src Clip) bool {
	k, ok := src.(interface{ KeyFrames() []int })
	if !ok {
		return false
	}
	keys := len(k.KeyFrames())
	return keys > 0 && 2*keys < src.Len()
}
