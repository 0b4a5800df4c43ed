package main

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
)

// What is committed must be what the sources give: nobody needs the bundler to build padside.
func TestBundlesAreFresh(t *testing.T) {
	t.Parallel()
	made, err := bundles("..")
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range made {
		got, err := os.ReadFile(name)
		if err != nil || !bytes.Equal(got, want) {
			t.Errorf("%s is older than its sources (%v): run go generate ./web", name, err)
		}
	}
	for _, dir := range folders {
		there, err := filepath.Glob(filepath.Join("..", "static", dir, "*"))
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range there {
			if made[name] == nil {
				t.Errorf("%s is not made any more: run go generate ./web", name)
			}
		}
	}
}
