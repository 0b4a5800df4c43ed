package units

// Quantity is a parsed quantity: SI value, standard uncertainty, and the unit it was
// written in, so that answers can be given back in the reader's units.
type Quantity struct {
	Value  float64 // SI
	U      float64 // standard uncertainty, SI; 0 when none was stated
	Stated bool    // an uncertainty was written, be it zero
	Unit   string  // the unit symbol as written, "" for a dimensionless number
}
