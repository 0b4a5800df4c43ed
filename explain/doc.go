// Package explain fits a flight model to what was measured: which discharge, exponent, drag, pressure or thrust makes the flight
// that was filmed, how sure that is, and whether any does.
//
// Several launches may be fitted together: unknowns are common to all or belong to one launch, and launches of one setup share its
// errors of scale and rate, which are fitted along with what is known of them beforehand (nuisances). So are each launch's first motion and
// rest level, and every input of the model that is stated with an uncertainty.
//
// The package knows nothing of files, pictures or what a model's unknowns mean. Quantities are SI; heights are along the flight
// line, 0 at rest, positive away from the pad; times are those of the observations.
package explain
