package web

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"net/http"
	"strings"
)

//go:embed static
var files embed.FS

// assets knows the digest of each embedded file, so that its address changes when it does.
type assets map[string]string

func newAssets() (assets, error) {
	a := assets{}
	err := fs.WalkDir(files, "static", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := files.ReadFile(name)
		if err != nil {
			return err
		}
		sum := sha256.Sum256(data)
		a[strings.TrimPrefix(name, "static/")] = hex.EncodeToString(sum[:6])
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("read embedded files: %w", err)
	}
	return a, nil
}

// address is where a page finds an embedded file. A name that is not there is an error of the template.
func (a assets) address(name string) (string, error) {
	v, ok := a[name]
	if !ok {
		return "", fmt.Errorf("no embedded file %q", name)
	}
	return "/static/" + name + "?v=" + v, nil
}

// mimeOf is the type of an embedded file. It is stated here since the system's own list may lack it.
func mimeOf(name string) string {
	switch name[strings.LastIndex(name, ".")+1:] {
	case "css":
		return "text/css; charset=utf-8"
	case "js":
		return "text/javascript; charset=utf-8"
	case "woff2":
		return "font/woff2"
	case "svg":
		return "image/svg+xml"
	}
	return "text/plain; charset=utf-8"
}

func (s *Server) static(w http.ResponseWriter, r *http.Request) {
	name := strings.TrimPrefix(r.URL.Path, "/")
	data, err := files.ReadFile(name)
	if err != nil {
		s.nothing(w, r)
		return
	}
	w.Header().Set("Cache-Control", "private, no-cache")
	// Fonts and chunks of scripts are asked for without a version: the former never change under one name, the
	// latter carry a digest in it.
	if r.URL.Query().Has("v") || strings.HasSuffix(name, ".woff2") || strings.HasPrefix(name, "static/js/chunk-") {
		w.Header().Set("Cache-Control", "private, max-age=31536000, immutable")
	}
	show(w, data, mimeOf(name))
}
