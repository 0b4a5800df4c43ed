package desk

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestImportRefuses(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	d, _ := bench(t)
	in, err := d.NewImport()
	if err != nil {
		t.Fatal(err)
	}
	for _, bad := range []string{"", "../x.jpg", "a/b.jpg", ".hidden", `c:\x`} {
		if err := d.Receive(ctx, in.ID, bad, 1, strings.NewReader("x")); err == nil {
			t.Errorf("a file named %q was taken", bad)
		}
	}
	if err := d.Receive(ctx, in.ID, "cut.jpg", 100, strings.NewReader("short")); !errors.Is(err, errShort) {
		t.Errorf("a file cut off gave %v", err)
	}
	if err := d.Receive(ctx, in.ID, "letter.mp4", 6, strings.NewReader("letter")); err != nil {
		t.Fatal(err)
	}
	if _, err := d.FinishImport(ctx, in.ID, Fresh{}); err == nil {
		t.Error("a letter became a launch")
	}
	left, err := os.ReadDir(filepath.Join(d.Dir(), "incoming"))
	if err != nil || len(left) != 0 {
		t.Errorf("left in incoming: %v, %v", left, err)
	}
	if err := d.Receive(ctx, "i99", "a.jpg", 1, strings.NewReader("x")); !errors.Is(err, ErrUnknown) {
		t.Errorf("an unknown import gave %v", err)
	}
	ended, cancel := context.WithCancel(ctx)
	cancel()
	again, _ := d.NewImport()
	if err := d.Receive(ended, again.ID, "a.jpg", -1, io.LimitReader(zeros{}, 1<<20)); !errors.Is(err, context.Canceled) {
		t.Errorf("a cancelled upload gave %v", err)
	}
}

type zeros struct{}

func (zeros) Read(b []byte) (int, error) { return len(b), nil }
