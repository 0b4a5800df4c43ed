// Package pairs answers from pairs of places alone: the mean speed between two pictures, which needs no fitted motion, no rest and no more than two places;
// and it withholds what a fitted motion says against such pairs.
//
// It follows nothing, fits nothing and knows no pixels. Heights are metres along the flight line, positive away from the pad, times seconds; the errors that all
// frames share are drawn by package motion, draw by draw the same as for the fitted motion.
package pairs
