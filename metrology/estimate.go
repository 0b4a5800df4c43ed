package metrology

// Estimate is a measured value: best value, standard uncertainty and degrees of freedom,
// all in one SI unit. Dof is +Inf where the uncertainty is known exactly (GUM G.4).
type Estimate struct {
	Value float64
	U     float64
	Dof   float64
}
