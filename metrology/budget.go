package metrology

import (
	"cmp"
	"fmt"
	"slices"
)

// Held is the same answer drawn again with one source of error held at its best value.
// The draws of every other source should be the same numbers as in the full run, so that
// the difference is the source's and not chance.
type Held struct {
	Source string
	Draws  []float64
}

// Together names the share of a budget that no single source accounts for: what several
// sources do to the answer only in combination.
const Together = "sources together"

// smallestTogether is the share below which Together is not worth a line.
const smallestTogether = 0.01

// Budget returns each source's share of the variance of draws: 1 - var(held)/var(draws),
// cut to 0..1, largest first. Where sources interact the shares need not add to one: a sum
// above one (each share contains the interaction) is scaled down to one; what a sum below
// one leaves is listed as Together when it is 1 % or more. Nil where the draws do not vary.
func Budget(draws []float64, held []Held) ([]Share, error) {
	if err := checkDraws(draws); err != nil {
		return nil, fmt.Errorf("make a budget: %w", err)
	}
	_, total := Variance(draws)
	if total == 0 {
		return nil, nil
	}
	shares := make([]Share, 0, len(held)+1)
	for _, h := range held {
		if err := checkDraws(h.Draws); err != nil {
			return nil, fmt.Errorf("make a budget: without %s: %w", h.Source, err)
		}
		_, rest := Variance(h.Draws)
		shares = append(shares, Share{h.Source, 1 - rest/total})
	}
	return tidyShares(shares), nil
}

// tidyShares cuts, scales, completes and sorts shares as Budget promises.
func tidyShares(shares []Share) []Share {
	var sum float64
	for i := range shares {
		shares[i].Share = min(1, max(0, shares[i].Share))
		sum += shares[i].Share
	}
	if sum > 1 {
		for i := range shares {
			shares[i].Share /= sum
		}
	} else if 1-sum >= smallestTogether {
		shares = append(shares, Share{Together, 1 - sum})
	}
	slices.SortStableFunc(shares, func(a, b Share) int { return cmp.Compare(b.Share, a.Share) })
	return shares
}
