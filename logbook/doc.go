// Package logbook reads and writes the files of a logbook: the launch file, and folders of
// results that are never left half-written.
//
// A launch file is TOML. Every quantity in it is text with a unit; what ReadLaunch returns is
// SI (m, s, kg, Pa, K, rad), except speeds asked for, which keep the unit they were written
// in so that answers can be given back in it. Places in the picture are pixels, x to the
// right, y down, the centre of the top left pixel at the origin, after rotation.
//
// Whatever is wrong with a file is a fault.Error of kind Request that begins with the file's
// name and the line. The package opens no footage: paths are resolved, not checked.
package logbook
