package study

import (
	"math/rand/v2"
	"testing"

	"padside/metrology"
)

// rowOf makes a row of launches: design d's truth plus how launches differ, seen with noise of its own and an error of the launch's setup.
func rowOf(r *rand.Rand, truths []float64, between, own, setup float64, setups []int) *Row {
	const draws = 300
	z, err := map[int][]float64{}, map[int]float64{}
	row := &Row{ID: "peak_speed", Unit: "m/s"}
	for i, truth := range truths {
		k := setups[i]
		if z[k] == nil {
			z[k], err[k] = normals(draws, r), setup*r.NormFloat64()
		}
		v := truth + between*r.NormFloat64() + own*r.NormFloat64() + err[k]
		d := make([]float64, draws)
		for j := range d {
			d[j] = v + own*r.NormFloat64() + setup*z[k][j]
		}
		row.Each, row.draws = append(row.Each, metrology.Answer{Value: &v, Interval: &[2]float64{}}), append(row.draws, d)
	}
	return row
}

// TestTellApartHoldsTheDifference simulates two designs of four and three launches, of one setup and of two: the interval holds the true difference as often as it says.
func TestTellApartHoldsTheDifference(t *testing.T) {
	t.Parallel()
	runs := 2000
	if testing.Short() {
		runs = 500
	}
	designs := []string{"a", "a", "a", "a", "b", "b", "b"}
	for name, setups := range map[string][]int{"one setup": {0, 0, 0, 0, 0, 0, 0}, "two setups": {0, 0, 0, 0, 1, 1, 1}} {
		r := rand.New(rand.NewPCG(31, 1))
		held := 0
		for range runs {
			got := rowOf(r, []float64{30, 30, 30, 30, 31, 31, 31}, 0.4, 0.2, 0.5, setups).TellApart(designs)
			if len(got) != 1 || got[0].LaunchesA != 4 || got[0].LaunchesB != 3 {
				t.Fatalf("TellApart = %+v", got)
			}
			if iv := got[0].Interval; iv[0] <= 1 && 1 <= iv[1] {
				held++
			}
		}
		part := float64(held) / float64(runs)
		t.Logf("%s: %.1f %%", name, 100*part)
		if part < 0.93 || part > 0.985 { // Welch-Satterthwaite errs to the safe side with few degrees of freedom
			t.Errorf("%s: the interval holds the difference in %.1f %%, want 93 to 98.5", name, 100*part)
		}
	}
}

// TestLaunchesNeededAreEnough: flown as often as was said to be needed, designs that differ by as much are told apart in about 80 % of the cases.
func TestLaunchesNeededAreEnough(t *testing.T) {
	t.Parallel()
	const difference, between, own = 0.5, 0.4, 0.2
	n, limited := needed(difference, 2*(between*between+own*own), 0, apartChance)
	if n < 10 || n > 20 || limited {
		t.Fatalf("%d launches needed, limited %v", n, limited)
	}
	r := rand.New(rand.NewPCG(32, 1))
	var truths []float64
	var designs []string
	for i := range 2 * n {
		truths, designs = append(truths, 30+difference*float64(i/n)), append(designs, []string{"a", "b"}[i/n])
	}
	apart := 0
	const runs = 600
	for range runs {
		if got := rowOf(r, truths, between, own, 0.3, make([]int, 2*n)).TellApart(designs); got[0].Apart {
			apart++
		}
	}
	if part := float64(apart) / runs; part < 0.75 || part > 0.87 {
		t.Errorf("%d launches each tell the designs apart in %.0f %%, want about 80", n, 100*part)
	}
}

func TestTellApartSaysWhatIsMissing(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(33, 1))
	// Flown once each: how launches differ is not known.
	if got := rowOf(r, []float64{30, 40}, 0, 0.1, 0, []int{0, 0}).TellApart([]string{"a", "b"}); len(got) != 1 || !got[0].AtLeast || !got[0].Apart || got[0].Needed < 2 {
		t.Errorf("flown once each: %+v", got)
	}
	// Two setups whose scales are far less sure than the difference: flying again does not help.
	if got := rowOf(r, []float64{30, 30, 30, 30.1, 30.1, 30.1}, 0.01, 0.01, 3, []int{0, 0, 0, 1, 1, 1}).TellApart([]string{"a", "a", "a", "b", "b", "b"}); got[0].Needed != 0 || got[0].Apart && got[0].Fixed {
		t.Errorf("two unsure setups: %+v", got)
	}
	if n, limited := needed(0.1, 1, 1, 0.8); n != 0 || !limited {
		t.Errorf("needed = %d, limited %v; want 0 and that the setups forbid it", n, limited)
	}
	// One flown twice, the other once: its scatter is taken for both.
	if got := rowOf(r, []float64{30, 31, 40}, 0, 0.01, 0, []int{0, 0, 0}).TellApart([]string{"a", "a", "b"}); len(got) != 1 || got[0].AtLeast {
		t.Errorf("one flown twice: %+v", got)
	}
	row := rowOf(r, []float64{30, 31, 40}, 0, 0.01, 0, []int{0, 0, 0})
	row.Each[2].Value = nil
	if got := row.TellApart([]string{"a", "a", "b"}); len(got) != 0 {
		t.Errorf("a design without a value: %+v", got)
	}
}
