// Package study compares launches: differences, ratios and odds from joint draws, finishing orders that admit ties, repeats of one
// launch, sweeps of one condition.
//
// A difference of two measured numbers is only as good as what they do not share. Draw k of two launches of one setup holds the same
// truth about what the setup's launches share (scale marks, distances, rate), and unrelated truths about all else, so that
// comparing draw by draw lets shared errors cancel by themselves; nothing here knows what they are.
//
// All quantities are SI. Launches are numbered from 1, as given. The package reads no files and measures nothing.
package study
