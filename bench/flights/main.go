// Flights says how many full flights a second one core computes, beside a classical Runge-Kutta method with fixed steps that is made as
// accurate in the same run: case D of the reference cases (2 L bottle, water, air, coast up and down), in the standard atmosphere.
//
//	go run ./bench/flights
package main

import (
	"flag"
	"fmt"
	"log"
	"math"
	"runtime"
	"syscall"
	"time"

	"padside/flight"
)

// same is the relative agreement of the apogee that both methods are asked for.
const same = 1e-8

func main() {
	log.SetFlags(0)
	span := flag.Duration("time", 3*time.Second, "how long each method runs")
	flag.Parse()
	runtime.GOMAXPROCS(1)
	bottle := flight.Bottle{
		Volume: 2e-3, Water: 0.7e-3, Pressure: 4e5, NozzleDiameter: 21.5e-3, DryMass: 0.1, BodyDiameter: 0.11, DragCoefficient: 0.5,
		Site: flight.StandardSite(),
	}
	ours := func() float64 {
		f, err := bottle.Fly()
		if err != nil {
			log.Fatal(err)
		}
		_, h, _ := f.Apogee()
		return h
	}
	truth := classic{bottle, 1 << 15}.fly()
	n := 64
	for ; n < 1<<15 && math.Abs(classic{bottle, n}.fly()/truth-1) > same; n *= 2 {
	}
	fmt.Printf("apogee %.9f m; off the finest classical one by %.1e (ours), %.1e (classical, %d steps a phase)\n",
		ours(), ours()/truth-1, classic{bottle, n}.fly()/truth-1, n)
	a, b := rate(*span, ours), rate(*span, classic{bottle, n}.fly)
	fmt.Printf("ours       %8.0f flights a second of one core's time\nclassical  %8.0f\nratio      %8.1f\n", a, b, a/b)
}

// rate is how many calls a second of processor time makes.
func rate(span time.Duration, f func() float64) float64 {
	begin, used, n := time.Now(), cpu(), 0
	for time.Since(begin) < span {
		f()
		n++
	}
	return float64(n) / (cpu() - used)
}

// cpu is the processor time of this program so far, s.
func cpu() float64 {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		log.Fatal(err)
	}
	return float64(u.Utime.Nano()+u.Stime.Nano()) / 1e9
}
