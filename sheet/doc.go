// Package sheet is what is printed or sent: result sheets as one self-contained HTML file each, to be printed on A4 or Letter or sent
// by mail. It holds no script and loads nothing.
//
// Numbers reach it worded, in the reader's units; it measures and compares nothing.
package sheet
