package web

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"padside/desk"
	"padside/fault"
)

// keep lets the browser keep a picture: for good where its address names a version (v=), else until it has asked
// whether it is still the newest.
func keep(w http.ResponseWriter, r *http.Request, etag string) (known bool) {
	h := w.Header()
	h.Set("Cache-Control", "private, no-cache")
	if r.URL.Query().Get("v") != "" {
		h.Set("Cache-Control", "private, max-age=31536000, immutable")
	}
	if etag == "" {
		return false
	}
	h.Set("ETag", etag)
	for given := range strings.SplitSeq(r.Header.Get("If-None-Match"), ",") {
		if strings.TrimSpace(given) == etag {
			w.WriteHeader(http.StatusNotModified)
			return true
		}
	}
	return false
}

func (s *Server) picture(w http.ResponseWriter, r *http.Request) {
	lane, err := whole(r.URL.Query(), "lane", 1)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	data, mime, etag, err := s.desk.Picture(r.Context(), r.PathValue("name"), r.PathValue("kind"), lane)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if keep(w, r, etag) {
		return
	}
	show(w, data, mime)
}

func show(w http.ResponseWriter, data []byte, mime string) {
	w.Header().Set("Content-Type", mime)
	w.Header().Set("Content-Length", strconv.Itoa(len(data)))
	w.Write(data)
}

func (s *Server) frame(w http.ResponseWriter, r *http.Request) {
	i, err := strconv.Atoi(r.PathValue("frame"))
	if err != nil {
		s.fail(w, r, fault.Requestf("frames are counted from 0", "%q is no frame", clip(r.PathValue("frame"), 40)))
		return
	}
	want, err := frameRequest(r.URL.Query())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	data, mime, err := s.desk.Frame(r.Context(), r.PathValue("name"), i, want)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	keep(w, r, "")
	show(w, data, mime)
}

// frameRequest reads width=320 or crop=x,y,width,height.
func frameRequest(q url.Values) (desk.FrameRequest, error) {
	width, err := whole(q, "width", 0)
	if err != nil {
		return desk.FrameRequest{}, err
	}
	want := desk.FrameRequest{Width: width}
	crop := q.Get("crop")
	if crop == "" {
		return want, nil
	}
	parts := strings.Split(crop, ",")
	if len(parts) != 4 {
		return want, fault.Requestf("write crop=x,y,width,height in px", "crop=%s is no rectangle", clip(crop, 40))
	}
	want.Crop = new([4]int)
	for k, p := range parts {
		if want.Crop[k], err = strconv.Atoi(p); err != nil {
			return want, fault.Requestf("write crop=x,y,width,height in whole px", "crop=%s is no rectangle", clip(crop, 40))
		}
	}
	return want, nil
}

// whole reads a whole number of a query, or gives its default.
func whole(q url.Values, key string, otherwise int) (int, error) {
	text := q.Get(key)
	if text == "" {
		return otherwise, nil
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		return 0, fault.Requestf("write "+key+" as a whole number", "%s=%s is no number", key, clip(text, 40))
	}
	return n, nil
}
