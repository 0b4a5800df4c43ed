// Command bundle turns the pages' TypeScript and style sheets into what is embedded: static/js and static/css.
// It is run by go generate in web; its test fails where what is committed is older than the sources.
package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/evanw/esbuild/pkg/api"
)

// scripts and styles are where each page begins, from the folder web.
var (
	scripts = [...]string{"client/logbook.ts", "island/launch.ts", "island/setup.ts", "island/flight.ts", "island/compare.ts", "island/heats.ts", "island/heat.ts", "island/shoots.ts", "island/plan.ts"}
	styles  = [...]string{"client/logbook.css", "island/launch.css", "island/setup.css", "island/flight.css", "island/compare.css", "island/heat.css", "island/plan.css"}
)

func main() {
	if err := generate("."); err != nil {
		fmt.Fprintln(os.Stderr, "bundle:", err)
		os.Exit(1)
	}
}

// generate writes the bundles below web's folder and removes those that are no longer made.
func generate(web string) error {
	made, err := bundles(web)
	if err != nil {
		return err
	}
	for _, dir := range folders {
		dir = filepath.Join(web, "static", dir)
		if err := os.MkdirAll(dir, 0o755); err != nil {
			return fmt.Errorf("make folder: %w", err)
		}
		old, err := os.ReadDir(dir)
		if err != nil {
			return fmt.Errorf("list folder: %w", err)
		}
		for _, f := range old {
			if name := filepath.Join(dir, f.Name()); made[name] == nil {
				if err := os.Remove(name); err != nil {
					return fmt.Errorf("remove old bundle: %w", err)
				}
			}
		}
	}
	for name, data := range made {
		if kept, err := os.ReadFile(name); err == nil && bytes.Equal(kept, data) {
			continue
		}
		if err := os.WriteFile(name, data, 0o644); err != nil {
			return fmt.Errorf("write bundle: %w", err)
		}
	}
	return nil
}

// folders of static hold nothing but bundles.
var folders = [...]string{"js", "css"}

// bundles returns the content of each file by its path.
func bundles(web string) (map[string][]byte, error) {
	made := map[string][]byte{}
	for _, part := range []struct {
		entries []string
		to      string
	}{{scripts[:], "js"}, {styles[:], "css"}} {
		abs, err := filepath.Abs(web)
		if err != nil {
			return nil, fmt.Errorf("find folder: %w", err)
		}
		result := api.Build(options(abs, part.entries, part.to))
		if len(result.Errors) > 0 {
			return nil, errors.New(api.FormatMessages(result.Errors[:1], api.FormatMessagesOptions{})[0])
		}
		for _, f := range result.OutputFiles {
			name, err := filepath.Rel(abs, f.Path)
			if err != nil {
				return nil, fmt.Errorf("name bundle: %w", err)
			}
			made[filepath.Join(web, name)] = f.Contents
		}
	}
	return made, nil
}

// options are esbuild's. The target is what the browsers of the last three years understand.
func options(dir string, entries []string, to string) api.BuildOptions {
	return api.BuildOptions{
		AbsWorkingDir:     dir,
		EntryPoints:       entries,
		EntryNames:        "[name]",
		ChunkNames:        "chunk-[hash]",
		Outdir:            filepath.Join(dir, "static", to),
		Bundle:            true,
		Splitting:         to == "js",
		Format:            api.FormatESModule,
		Target:            api.ES2022,
		MinifySyntax:      true,
		MinifyWhitespace:  true,
		MinifyIdentifiers: true,
		LegalComments:     api.LegalCommentsEndOfFile,
		Charset:           api.CharsetUTF8,
	}
}
