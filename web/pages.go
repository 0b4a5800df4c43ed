package web

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"net/http"

	"padside/wording"
)

//go:embed template
var templates embed.FS

// pages are the parsed templates.
type pages struct {
	logbook, launch, setup, model, compare, heats, heat, shoots, plan, refusal *template.Template
}

// page is what every template is given.
type page struct {
	Title   string // of the page
	Logbook string // name of the logbook
	Here    string // which link of the page head leads here
	Name    string // of the launch or setup
	Heat    string // name of the heat
	Shoot   string // name of the shoot
	Board   string // where the board is shown, or empty
	Paper   string // "light", "dark", or empty: as the system has it
	Script  string // the page's module, below static/js
	Style   string // the page's own style sheet, below static/css, or empty
}

func parsePages() (*pages, error) {
	list, err := newAssets()
	if err != nil {
		return nil, err
	}
	p := &pages{}
	for _, one := range []struct {
		file string
		to   **template.Template
	}{{"logbook", &p.logbook}, {"launch", &p.launch}, {"setup", &p.setup}, {"model", &p.model}, {"compare", &p.compare}, {"heats", &p.heats}, {"heat", &p.heat}, {"shoots", &p.shoots}, {"plan", &p.plan}, {"refusal", &p.refusal}} {
		t := template.New("base.html")
		if one.to == &p.refusal {
			t = template.New("refusal.html")
		}
		t.Funcs(template.FuncMap{"asset": list.address})
		if *one.to, err = t.ParseFS(templates, "template/base.html", "template/"+one.file+".html"); err != nil {
			return nil, fmt.Errorf("parse template %s: %w", one.file, err)
		}
	}
	return p, nil
}

// show renders a page into memory first, so that a failure is an error page and not half a page.
func (s *Server) show(w http.ResponseWriter, r *http.Request, t *template.Template, p page) {
	p.Logbook = s.name
	p.Paper = paperOf(r)
	var b bytes.Buffer
	if err := t.Execute(&b, p); err != nil {
		s.fail(w, r, fmt.Errorf("render page: %w", err))
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Write(b.Bytes())
}

// paperCookie holds which paper the reader chose: all ports of this machine share it, so that it outlives a restart.
const paperCookie = "padside-paper"

func paperOf(r *http.Request) string {
	c, err := r.Cookie(paperCookie)
	if err != nil || c.Value != "light" && c.Value != "dark" {
		return ""
	}
	return c.Value
}

func (s *Server) logbookPage(w http.ResponseWriter, r *http.Request) {
	s.show(w, r, s.pages.logbook, page{Title: "Logbook", Here: "logbook", Script: "logbook.js", Style: "logbook.css"})
}

func (s *Server) launchPage(w http.ResponseWriter, r *http.Request) {
	s.sheetPage(w, r, s.pages.launch, page{Here: "launch", Script: "launch.js", Style: "launch.css"})
}

func (s *Server) setupPage(w http.ResponseWriter, r *http.Request) {
	s.sheetPage(w, r, s.pages.setup, page{Here: "setup", Script: "setup.js", Style: "setup.css"})
}

// sheetPage shows a page about one launch.
func (s *Server) sheetPage(w http.ResponseWriter, r *http.Request, t *template.Template, p page) {
	p.Name = r.PathValue("name")
	v, err := s.desk.Sheet(r.Context(), p.Name, wording.Units{})
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if p.Title = v.Title; p.Title == "" {
		p.Title = p.Name
	}
	s.show(w, r, t, p)
}
