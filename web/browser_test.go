package web_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	cdpruntime "github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// patience is how long a page may take for anything a test waits for, on a machine that is busy with other tests.
const patience = 2 * time.Minute

// tab is one tab of a real browser on a padside. It fails the test where a page asks for anything from elsewhere, throws,
// or breaks the content security policy.
type tab struct {
	*testing.T
	ctx  context.Context
	base string

	mu     sync.Mutex
	broken []string
	allow  []string // complaints that a test brings about on purpose
}

// openTab lets a new tab in.
func openTab(t *testing.T, s *served) *tab {
	t.Helper()
	if testing.Short() {
		t.Skip("drives a real browser")
	}
	program(t)
	if shared.missing != "" {
		t.Skip(shared.missing)
	}
	ctx, end := chromedp.NewContext(shared.browser)
	ctx, late := context.WithTimeout(ctx, 10*patience)
	b := &tab{T: t, ctx: ctx, base: s.base}
	t.Cleanup(func() {
		late()
		end()
		b.judge()
	})
	b.must(chromedp.Do(ctx, chromedp.Navigate("about:blank")))
	b.must(chromedp.Listen(ctx, b.heard))
	for _, enable := range []func() error{
		func() error { _, err := chromedp.Call(ctx, network.Enable, network.EnableParams{}); return err },
		func() error { return chromedp.Do(ctx, chromedp.Func(enableLog)) },
	} {
		b.must(enable())
	}
	b.as(1280, "light")
	b.must(chromedp.Do(ctx, chromedp.Navigate(s.enter)))
	return b
}

func enableLog(ctx context.Context, _ *chromedp.Target) error {
	_, err := chromedp.Call(ctx, log.Enable, struct{}{})
	return err
}

func (b *tab) must(err error) {
	b.Helper()
	if err != nil {
		b.Fatal(err)
	}
}

// heard notes what a page should not do.
func (b *tab) heard(event any) {
	note := ""
	switch e := event.(type) {
	case *network.EventRequestWillBeSent:
		url := e.Request.URL
		if !strings.HasPrefix(url, b.base+"/") && !strings.HasPrefix(url, "blob:"+b.base) && url != "about:blank" {
			note = "asks for " + url
		}
	case *cdpruntime.EventExceptionThrown:
		note = "throws " + e.ExceptionDetails.Text
		if x := e.ExceptionDetails.Exception; x != nil {
			note += " " + x.Description
		}
	case *log.EventEntryAdded:
		if e.Entry.Level == log.EntryLevelError || strings.Contains(e.Entry.Text, "Content Security Policy") {
			note = "logs " + e.Entry.Text + " " + e.Entry.URL
		}
	}
	if note != "" {
		b.mu.Lock()
		defer b.mu.Unlock()
		b.broken = append(b.broken, note)
	}
}

// judge fails the test where a page did what it should not.
func (b *tab) judge() {
	b.mu.Lock()
	defer b.mu.Unlock()
next:
	for _, note := range b.broken {
		for _, a := range b.allow {
			if strings.Contains(note, a) {
				continue next
			}
		}
		b.Errorf("a page %s", note)
	}
}

// open goes to a page of padside.
func (b *tab) open(path string) {
	b.Helper()
	b.must(chromedp.Do(b.ctx, chromedp.Navigate(b.base+path)))
}

// wait waits until an expression of the page is true, over navigations too.
func (b *tab) wait(expression string) {
	b.Helper()
	var err error
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		var ok bool
		if ok, err = chromedp.Run(b.ctx, chromedp.Evaluate[bool]("!!("+expression+")")); ok && err == nil {
			return
		}
	}
	text, _ := chromedp.Run(b.ctx, chromedp.Evaluate[string]("location.href + '\\n' + document.body.innerText"))
	b.Fatalf("waited for %s: %v; the page says:\n%.1500s", expression, err, text)
}

// eval returns the value of an expression of the page.
func eval[T any](b *tab, expression string) T {
	b.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		b.Fatalf("evaluate %.200s: %v", expression, err)
	}
	return v
}

// click presses the first visible element of a selector.
func (b *tab) click(selector string) {
	b.Helper()
	b.must(chromedp.Do(b.ctx, chromedp.WaitVisible(chromedp.CSS(selector)), chromedp.Click(chromedp.CSS(selector))))
}

// press presses the button with these words on it. A page may draw it anew between finding and pressing: then it is found again.
func (b *tab) press(words string) {
	b.Helper()
	find := fmt.Sprintf("[...document.querySelectorAll('button, a')].find(e => e.innerText.trim() === %q && e.offsetParent)", words)
	var err error
	for end := time.Now().Add(patience); time.Now().Before(end); {
		b.wait(find)
		eval[bool](b, "(document.querySelectorAll('[data-pressed]').forEach(e => delete e.dataset.pressed), true)")
		if !eval[bool](b, "(e => e ? (e.dataset.pressed = 'next', true) : false)("+find+")") {
			continue
		}
		ctx, late := context.WithTimeout(b.ctx, 10*time.Second)
		err = chromedp.Do(ctx, chromedp.Click(chromedp.CSS("[data-pressed=next]")))
		late()
		if err == nil {
			return
		}
	}
	b.Fatalf("press %q: %v", words, err)
}

// write types into the field of a selector, over what is there.
func (b *tab) write(selector, text string) {
	b.Helper()
	b.wait(fmt.Sprintf("document.querySelector(%q)?.offsetParent", selector))
	eval[bool](b, fmt.Sprintf("(e => { e.focus(); e.select(); return true })(document.querySelector(%q))", selector))
	b.must(chromedp.Do(b.ctx, chromedp.WaitVisible(chromedp.CSS(selector)), chromedp.SendKeys(chromedp.CSS(selector), text)))
}

// drop lets files go over the page, as from a folder's window.
func (b *tab) drop(files ...string) {
	b.Helper()
	data := &input.DragData{Items: []*input.DragDataItem{}, Files: files, DragOperationsMask: 1}
	for _, kind := range []input.DispatchDragEventType{input.DispatchDragEventTypeDragEnter, input.DispatchDragEventTypeDragOver, input.DispatchDragEventTypeDrop} {
		_, err := chromedp.Call(b.ctx, input.DispatchDragEvent, input.DispatchDragEventParams{Type: kind, X: 300, Y: 300, Data: data})
		b.must(err)
	}
}

// reload loads the page anew.
func (b *tab) reload() {
	b.Helper()
	_, err := chromedp.Call(b.ctx, page.Reload, page.ReloadParams{})
	b.must(err)
}

// as shows the pages that follow at a width, px, and on a paper.
func (b *tab) as(width int64, paper string) {
	b.Helper()
	features := []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: paper}, {Name: "prefers-reduced-motion", Value: "reduce"}}
	_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: features})
	b.must(err)
	b.must(chromedp.Do(b.ctx, chromedp.EmulateViewport(width, 800)))
}

// allRules asks axe-core for all of its rules: every level, best practices, and the experimental ones that are off
// unless asked for; colourRules for those that look at colours, which alone can tell one paper from the other.
const (
	allRules    = `axe.getRules()`
	colourRules = `axe.getRules(["cat.color"])`
)

// findings runs rules of axe-core on the page.
const findings = `axe.run(document, {runOnly: {type: "rule", values: %s.map(r => r.ruleId)}}).then(r =>
	r.violations.flatMap(v => v.nodes.map(n => v.id + ' (' + v.impact + '): ' + n.html.slice(0, 200) + ' ' + n.failureSummary)))`

// accessible wants no violation of any level from axe-core, at both widths and on both papers, and no sideways scrolling. The paper is changed
// under the reader's eyes, from light to dark at one width and back at the other. ready is what the page shows when it is complete.
func (b *tab) accessible(path, ready string) {
	b.Helper()
	for _, c := range []struct {
		width  int64
		papers [2]string
	}{{1280, [2]string{"light", "dark"}}, {360, [2]string{"dark", "light"}}} {
		b.as(c.width, c.papers[0])
		b.open(path)
		b.wait(ready)
		rules := allRules
		for _, paper := range c.papers {
			b.as(c.width, paper)
			b.wait(fmt.Sprintf("document.documentElement.dataset.theme === %q", paper))
			b.inspect(fmt.Sprintf("%s at %d px, %s", path, c.width, paper), rules)
			rules = colourRules
		}
	}
	b.as(1280, "light")
}

// inspect wants no violation of these rules from axe-core on the page as it is, and no sideways scrolling.
func (b *tab) inspect(where, rules string) {
	b.Helper()
	if !eval[bool](b, "!!window.axe") { // once a page
		axe, err := os.ReadFile("testdata/axe/axe.min.js")
		b.must(err)
		eval[bool](b, string(axe)+";true")
	}
	for _, v := range eval[[]string](b, fmt.Sprintf(findings, rules)) {
		b.Errorf("%s: %s", where, v)
	}
	if over := eval[float64](b, "document.documentElement.scrollWidth - innerWidth"); over > 0 {
		b.Errorf("%s: the page is %g px too wide", where, over)
	}
}

// keepPictures leaves pictures of the page at both widths, from where an element begins, if PADSIDE_PICTURES names a folder: to be looked at.
func (b *tab) keepPictures(name, from string) {
	dir := os.Getenv("PADSIDE_PICTURES")
	if dir == "" {
		return
	}
	for _, width := range []int64{1280, 360} {
		b.as(width, "light")
		eval[bool](b, fmt.Sprintf(`(document.querySelector(%q).scrollIntoView(), true)`, from))
		picture, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
		b.must(err)
		b.must(os.WriteFile(filepath.Join(dir, fmt.Sprintf("%s-%d.png", name, width)), picture, 0o644))
	}
}
