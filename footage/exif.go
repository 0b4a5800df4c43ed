package footage

import "math/big"

// exif is what is used of a still's tags.
type exif struct {
	time     *big.Rat // s since 1970 on the camera's clock; nil where unknown
	digits   int      // decimals of the second
	exposure float64  // s; 0 where unknown
	turn     int      // degrees clockwise for display
}

func readEXIF([]byte) exif { return exif{} }

func (i *Info) stampStills([]exif) {}
