package units

// Dimension is what a quantity measures. The same symbol may stand for units of several
// dimensions ("g" is a gram and the standard acceleration of free fall); the dimension
// asked for decides.
type Dimension int

// The dimensions of padside's quantities.
const (
	Length Dimension = iota + 1
	Area
	Volume
	Mass
	Time
	Frequency
	Speed
	Acceleration
	Force
	Pressure
	Energy
	Impulse
	Temperature
	Angle
	Pixels
	Ratio // a plain number; "%" and "ppm" are its units
	dimensionEnd
)

// Dimensions lists all dimensions.
func Dimensions() []Dimension {
	var out []Dimension
	for d := Length; d < dimensionEnd; d++ {
		out = append(out, d)
	}
	return out
}

// String names the dimension as a noun: "length", "speed".
func (d Dimension) String() string {
	switch d {
	case Length:
		return "length"
	case Area:
		return "area"
	case Volume:
		return "volume"
	case Mass:
		return "mass"
	case Time:
		return "time"
	case Frequency:
		return "frequency"
	case Speed:
		return "speed"
	case Acceleration:
		return "acceleration"
	case Force:
		return "force"
	case Pressure:
		return "pressure"
	case Energy:
		return "energy"
	case Impulse:
		return "impulse"
	case Temperature:
		return "temperature"
	case Angle:
		return "angle"
	case Pixels:
		return "length in the picture"
	case Ratio:
		return "plain number"
	}
	return "unknown dimension"
}

// phrase is the name with its article, for messages: "an area", "a length".
func (d Dimension) phrase() string {
	switch d {
	case Area, Acceleration, Energy, Impulse, Angle:
		return "an " + d.String()
	}
	return "a " + d.String()
}
