// Explain says how often the 95 % intervals of fitted parameters hold the truth, and how often a model that lacks something is caught:
// traces are simulated without pictures, every stated input is off by its uncertainty, scale and clock too, and the trace wanders.
//
//	go run ./bench/explain -launches 500
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"log"
	"math"
	"runtime"
	"sort"
	"sync"

	"padside/explain"
	"padside/metrology"
)

func main() {
	log.SetFlags(0)
	launches := flag.Int("launches", 500, "simulated launches of each class")
	first := flag.Uint64("first", 1, "first seed")
	only := flag.String("class", "", "only this class")
	workers := flag.Int("workers", runtime.GOMAXPROCS(0), "launches at a time")
	flag.Parse()
	for _, c := range classes() {
		if *only == "" || *only == c.name {
			c.report(study(c, *launches, *first, *workers))
		}
	}
}

// outcome is one launch: per unknown, whether the interval held the truth, its relative width, whether the footage told it; whether the model
// was said to fit.
type outcome struct {
	key   []string
	held  []bool
	width []float64
	told  []bool
	z     []float64 // truth less mean, over the standard deviation
	fits  bool
	odds  float64 // logarithm of how many times as probable the other model makes what was seen
	err   error
}

// telling is the logarithm of the odds from which one of two models is said to be the right one: 20 to 1.
var telling = math.Log(20)

// study runs launches of a class.
func study(c class, n int, first uint64, workers int) []outcome {
	out := make([]outcome, n)
	var wg sync.WaitGroup
	next := make(chan int)
	for range workers {
		wg.Go(func() {
			for i := range next {
				out[i] = c.run(first + uint64(i))
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
	return out
}

func (c class) run(seed uint64) outcome {
	s := c.draw(seed)
	res, err := explain.Run(context.Background(), explain.Input{Launches: []explain.Launch{s.launch}, Unknowns: s.unknowns, Model: s.model, Seed: seed})
	if err != nil {
		return outcome{err: err}
	}
	if res.Impossible != "" {
		return outcome{err: errors.New("only an impossible flight comes near: " + res.Impossible)}
	}
	o := outcome{fits: res.Test.Fits}
	if s.other != nil {
		other, _, err := explain.Weigh(context.Background(), explain.Input{Launches: []explain.Launch{s.launch}, Unknowns: s.unknowns, Model: s.other, Seed: seed})
		if err != nil {
			return outcome{err: err}
		}
		o.odds = other - res.Evidence
	}
	for j, u := range res.Unknowns {
		draws := make([]float64, len(res.Draws))
		for i, d := range res.Draws {
			draws[i] = d[j]
		}
		iv, err := metrology.ShortestInterval(draws, 0.95)
		if err != nil {
			return outcome{err: err}
		}
		o.key = append(o.key, u.Key)
		o.held = append(o.held, iv.Holds(s.truth[j]))
		o.width = append(o.width, iv.Width()/math.Abs(s.truth[j]))
		o.told = append(o.told, res.Fitted[j].Told)
		o.z = append(o.z, (s.truth[j]-mean(draws))/res.Fitted[j].U)
	}
	l := res.Launches[0]
	o.key = append(o.key, "first motion")
	o.held = append(o.held, math.Abs(l.FirstMotion-s.firstMotion) < 1.96*l.FirstMotionU)
	o.width = append(o.width, 2*1.96*l.FirstMotionU*s.rate)
	o.told = append(o.told, true)
	o.z = append(o.z, (s.firstMotion-l.FirstMotion)/l.FirstMotionU)
	return o
}

func (c class) report(all []outcome) {
	failed, fits := 0, 0
	held, told, width, zs := map[string]int{}, map[string]int{}, map[string][]float64{}, map[string][]float64{}
	var keys []string
	for _, o := range all {
		if o.err != nil {
			failed++
			if failed <= 3 {
				fmt.Println("  ", o.err)
			}
			continue
		}
		if o.fits {
			fits++
		}
		for j, k := range o.key {
			if width[k] == nil {
				keys = append(keys, k)
			}
			width[k] = append(width[k], o.width[j])
			zs[k] = append(zs[k], o.z[j])
			if o.held[j] {
				held[k]++
			}
			if o.told[j] {
				told[k]++
			}
		}
	}
	n := len(all) - failed
	fmt.Printf("%s: %d launches, %d not explained, %d said to fit (%.1f %%)\n", c.name, len(all), failed, fits, 100*float64(fits)/float64(max(1, n)))
	if c.other != "" {
		right, wrong := 0, 0
		for _, o := range all {
			if o.err == nil && o.odds > telling {
				right++
			}
			if o.err == nil && o.odds < -telling {
				wrong++
			}
		}
		fmt.Printf("   %s: at least 20 times as probable in %d, at most a twentieth in %d; else the data do not tell\n", c.other, right, wrong)
	}
	if c.lacks != "" {
		fmt.Printf("   the model lacks %s\n", c.lacks)
		return
	}
	for _, k := range keys {
		sort.Float64s(width[k])
		unit := "% of the truth"
		w := 100 * width[k][n/2]
		if k == "first motion" {
			unit, w = "frame intervals", w/100
		}
		fmt.Printf("   %-18s interval holds the truth in %5.1f %%, median width %.3g %s; told by the footage in %.0f %%; error over standard uncertainty %.2f on average, %.2f rms\n", k, 100*float64(held[k])/float64(n), w, unit, 100*float64(told[k])/float64(n), mean(zs[k]), rms(zs[k]))
	}
}

func rms(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum / float64(len(x)))
}

func mean(x []float64) float64 {
	m, _ := metrology.Variance(x)
	return m
}
