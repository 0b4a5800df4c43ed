package metrology

import (
	"bufio"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// readGroups reads an analysis-of-variance set of NIST StRD (public domain): group, value.
func readGroups(t *testing.T, name string) []Group {
	t.Helper()
	file, err := os.Open(filepath.Join("testdata", name+".dat"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	values := map[int][]float64{}
	data := false
	for in := bufio.NewScanner(file); in.Scan(); {
		f := strings.Fields(in.Text())
		switch {
		case len(f) == 3 && f[0] == "Data:" && f[1] != "1":
			data = true
		case data && len(f) == 2:
			g, errG := strconv.Atoi(f[0])
			v, errV := strconv.ParseFloat(f[1], 64)
			if errG != nil || errV != nil {
				t.Fatalf("%s: %q", name, in.Text())
			}
			values[g] = append(values[g], v)
		}
	}
	var groups []Group
	for g := 1; g <= len(values); g++ {
		groups = append(groups, NewGroup(values[g]))
	}
	if len(groups) < 2 {
		t.Fatalf("%s: %d groups", name, len(groups))
	}
	return groups
}

// TestStRDVariance: certified analyses of variance. The sets of 13 leading digits
// (SmLs07) hold their tenths only to 1e-4 in float64, so two to three digits of F are all
// there is; an analysis in one pass loses them all.
func TestStRDVariance(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name                       string
		between, within, f, r2, sd float64
		betweenDof, withinDof      int
		digits                     float64
	}{
		{"SiRstv", 5.11462616e-02, 2.16636560e-01, 1.18046237440255, 0.190999039051129, 0.104076068334656, 4, 20, 11},
		{"AtmWtAg", 3.638341875e-09, 1.04951729166667e-08, 15.9467335677930, 0, 0, 1, 46, 9},
		{"SmLs01", 1.68, 1.80, 21, 0.482758620689655, 0.1, 8, 180, 12},
		{"SmLs04", 1.68, 1.80, 21, 0.482758620689655, 0.1, 8, 180, 9},
		{"SmLs07", 1.68, 1.80, 21, 0.482758620689655, 0.1, 8, 180, 2},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			a, err := OneWay(readGroups(t, c.name))
			if err != nil {
				t.Fatal(err)
			}
			if a.BetweenDof != c.betweenDof || a.WithinDof != c.withinDof {
				t.Errorf("dof = %d, %d, want %d, %d", a.BetweenDof, a.WithinDof, c.betweenDof, c.withinDof)
			}
			for name, v := range map[string][2]float64{
				"between": {a.BetweenSS, c.between}, "within": {a.WithinSS, c.within}, "F": {a.F, c.f},
				"R2": {a.R2, c.r2}, "sd": {a.ResidualSD, c.sd},
			} {
				if v[1] == 0 {
					continue
				}
				digits := -math.Log10(math.Abs(v[0]/v[1]-1) + 1e-16)
				t.Logf("%s: %.1f digits", name, digits)
				if digits < c.digits {
					t.Errorf("%s = %.12g, want %.12g: %.1f digits, want %v", name, v[0], v[1], digits, c.digits)
				}
			}
		})
	}
}

// TestStRDMoments: univariate sets of NIST StRD built from their description: exact mean and
// standard deviation 1 or 0.1.
func TestStRDMoments(t *testing.T) {
	t.Parallel()
	alternating := func(base float64) []float64 {
		x := []float64{base + 0.2}
		for range 500 {
			x = append(x, base+0.1, base+0.3)
		}
		return x
	}
	for _, c := range []struct {
		name     string
		x        []float64
		mean, sd float64
		digits   float64 // of the sd; the data themselves are rounded to float64
	}{
		{"NumAcc1", []float64{10000001, 10000003, 10000002}, 10000002, 1, 15},
		{"NumAcc2", alternating(1), 1.2, 0.1, 14},
		{"NumAcc3", alternating(1000000), 1000000.2, 0.1, 9},
		{"NumAcc4", alternating(10000000), 10000000.2, 0.1, 8},
	} {
		m, v := Variance(c.x)
		if math.Abs(m/c.mean-1) > 1e-15 {
			t.Errorf("%s: mean = %.17g, want %.17g", c.name, m, c.mean)
		}
		if d := -math.Log10(math.Abs(math.Sqrt(v)/c.sd-1) + 1e-16); d < c.digits {
			t.Errorf("%s: sd = %.17g, want %v: %.1f digits, want %v", c.name, math.Sqrt(v), c.sd, d, c.digits)
		}
	}
}
