// Package rules holds what the entries of a heat state of themselves against what the heat allows: a quantity with its uncertainty, or words. It knows
// nothing of footage, of answers or of who won.
//
// Quantities are SI.
package rules
