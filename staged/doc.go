// Package staged lays out a drawn take as the person would who filmed it: stills in a folder, a launch file with the marks of a hand that errs and ranges known
// to a centimetre, the setup that launches share. What comes of it is measured as any other footage is: nothing in it tells that it was drawn.
//
// It draws nothing itself (package scene does) and measures nothing. Lengths are m, places px with x right and y down.
package staged
