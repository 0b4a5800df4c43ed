// Package units reads and writes quantities: a number with a unit and, where it was
// stated, an uncertainty. Everything it returns is SI (m, s, kg, Pa, K, rad, ...) as
// float64, so that no other package converts anything.
//
// Conversion factors are exact where their definition is: NIST Special Publication 811
// (Thompson & Taylor, 2008), appendix B. Each factor is held as a numerator and a
// denominator, both exact decimal numbers, so that one rounding is all a conversion costs.
//
// The package does not round for display (package metrology does) and knows nothing of
// files: an error names the text and what is wrong with it; the caller adds where it stood.
package units
