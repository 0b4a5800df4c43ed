// Package guard starts goroutines and keeps a panic within the work that met it: it becomes an error of
// that launch, job or request, and everything else goes on. No goroutine of the program is started
// in another way (a test over the source holds that).
//
// It says nothing to anybody: who ends the work shows the error, as any other, and where nobody
// looks at it a line goes to the log.
package guard
