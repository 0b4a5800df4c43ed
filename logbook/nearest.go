package logbook

import "strings"

// nearestKey returns the known key that takes the fewest letters changed (Levenshtein's
// distance), or "" where that is more than half of the key.
func nearestKey(key string, known []string) string {
	best, least := "", len(key)/2+1
	for _, k := range known {
		if d := distance(strings.ToLower(key), k); d < least {
			best, least = k, d
		}
	}
	return best
}

func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := diagonal
			if a[i] != b[j] {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
