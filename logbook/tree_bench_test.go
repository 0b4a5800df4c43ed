package logbook

import (
	"bytes"
	"fmt"
	"testing"
)

// BenchmarkManyKeys reads and edits launch files of many conditions: twice as many keys take twice as long.
func BenchmarkManyKeys(b *testing.B) {
	for _, n := range []int{5_000, 10_000, 20_000} {
		var text bytes.Buffer
		text.WriteString("format = 1\n[footage]\npath = \"x.mp4\"\n[conditions]\n")
		for i := range n {
			fmt.Fprintf(&text, "key_%d = \"a value\"\n", i)
		}
		b.Run(fmt.Sprintf("read/%d", n), func(b *testing.B) {
			for b.Loop() {
				if _, err := parseTree(LaunchName, text.Bytes()); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(fmt.Sprintf("edit/%d", n), func(b *testing.B) {
			for b.Loop() {
				if _, err := SetKey(text.Bytes(), "conditions", "key_7", `"another"`); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
