package logbook

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestLongest: a list as long as it may be is read, one entry more is refused with its line; docs/formats.md has every limit.
func TestLongest(t *testing.T) {
	t.Parallel()
	docs, err := os.ReadFile(filepath.Join("..", "docs", "formats.md"))
	if err != nil {
		t.Fatal(err)
	}
	words := strings.Join(strings.Fields(string(docs)), " ")
	for key, most := range longest {
		if want := fmt.Sprintf("%d `%s`", most, key); !strings.Contains(words, want) {
			t.Errorf("docs/formats.md does not say %s", want)
		}
	}
	entries := func(n int, entry func(i int) string) string {
		var list []string
		for i := range n {
			list = append(list, entry(i))
		}
		return strings.Join(list, ",")
	}
	for key, text := range map[string]func(n int) string{
		"speeds": func(n int) string {
			return "[questions]\nspeeds = [" + entries(n, func(i int) string { return fmt.Sprintf("\"%d m/s\"", i+1) }) + "]"
		},
		"gates": func(n int) string {
			return "[questions]\ngates = [" + entries(n, func(i int) string { return fmt.Sprintf("\"%d m\"", i+1) }) + "]"
		},
		"average_speeds": func(n int) string {
			return "[questions]\naverage_speeds = [" + entries(n, func(i int) string { return fmt.Sprintf("{ from = 0, to = %d }", i+1) }) + "]"
		},
		"steady": func(n int) string {
			return "[trace]\nsteady = [" + entries(n, func(int) string { return "[0, 0, 9, 9]" }) + "]"
		},
		"conditions": func(n int) string {
			return "[conditions]\n" + strings.ReplaceAll(entries(n, func(i int) string { return fmt.Sprintf("k%d = 1", i) }), ",", "\n")
		},
	} {
		for n, fails := range map[int]bool{longest[key]: false, longest[key] + 1: true} {
			_, err := ParseDraft([]byte("format = 1\n[footage]\npath = \"x.mp4\"\n"+text(n)+"\n"), "launch.toml")
			if fails != (err != nil) || fails && !strings.Contains(err.Error(), fmt.Sprintf("%s has %d entries", key, n)) {
				t.Errorf("%d %s: %v", n, key, err)
			}
		}
	}
}
