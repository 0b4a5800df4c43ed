// Package predict makes a flight file fly: a model whose inputs are the file's, flown as they are stated, with the spread of their uncertainties, and
// over a range of one of them; what it reaches, each answer with its interval, and what must be said before anybody flies it. It knows nothing of footage:
// fitting the model to what was measured is explain's and desk's.
//
// Quantities are SI; time 0 is ignition or release.
package predict
