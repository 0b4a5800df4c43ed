package web_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// TestLaunchIsMeasuredAndCorrected measures a drawn launch on its page, reads the sheet by keyboard, moves a point of the trace
// under the loupe and on the streak, takes it back, and asks for another speed.
func TestLaunchIsMeasuredAndCorrected(t *testing.T) {
	t.Parallel()
	dir, _ := filmed(t, "bittern", false)
	b := openTab(t, serve(t, dir))
	b.open("/launch/bittern")
	b.press("Measure this launch")
	b.wait(`document.querySelector(".headline .sentence") && document.querySelector(".standing").hidden`)
	b.accessible("/launch/bittern?frame=60", sheetStands)

	// The cursor by keyboard, and its place in the address.
	b.must(chromedp.Do(b.ctx, chromedp.Focus(chromedp.CSS(".paper canvas"))))
	for _, key := range []string{kb.Home, kb.ArrowRight, kb.ArrowRight, kb.PageUp, kb.ArrowLeft, "+"} {
		b.must(chromedp.Do(b.ctx, chromedp.KeyEvent(key)))
	}
	b.wait(`document.querySelector(".paper canvas").ariaValueNow === "11" && location.search.includes("frame=11") && location.search.includes("from=")`)
	b.reload()
	b.wait(sheetStands)
	b.wait(`document.querySelector(".paper canvas").ariaValueNow === "11"`)

	// Under the loupe: ten nudges are one edit of one pixel.
	b.open("/launch/bittern?frame=60")
	b.wait(sheetStands)
	was := b.placeY()
	b.must(chromedp.Do(b.ctx, chromedp.Focus(chromedp.CSS(".streak-at canvas"))))
	for range 10 {
		b.must(chromedp.Do(b.ctx, chromedp.KeyEvent(kb.ArrowUp)))
	}
	b.wait(settledWith("Marked by hand"))
	if now := b.placeY(); !near(was-now, 1, placeRounding) {
		t.Errorf("ten nudges of 0.1 px moved the place from y = %.2f to %.2f px", was, now)
	}
	b.press("Undo")
	b.wait(settledWith("Followed"))
	b.press("Redo")
	b.wait(settledWith("Marked by hand"))
	b.press("Take mark away")
	b.wait(settledWith("Followed"))

	b.dragOnStreak(-30)
	b.wait(settledWith("Marked by hand"))
	if now := b.placeY(); now > was-5 {
		t.Errorf("dragging the ring 30 px up moved the place from y = %.2f to %.2f px", was, now)
	}
	eval[bool](b, `document.dispatchEvent(new KeyboardEvent("keydown", {key: "z", ctrlKey: true, bubbles: true}))`)
	b.wait(settledWith("Followed"))
	b.reload()
	b.wait(settledWith("Followed"))

	b.must(chromedp.Do(b.ctx, chromedp.SetValue(chromedp.CSS("#ask-speeds"), "20 km/h, 5 m/s")))
	b.press("Answer these")
	b.wait(`[...document.querySelectorAll(".answers th")].some(e => e.innerText.includes("time to 20 km/h"))`)
	b.must(chromedp.Do(b.ctx, chromedp.SetValue(chromedp.CSS("#ask-speeds"), "20 parsecs")))
	b.allow = append(b.allow, "status of 422")
	b.press("Answer these")
	b.wait(`document.getElementById("said").innerText.includes("parsecs")`)
}

// TestSheetUnderTheHand turns the wheel over the sheet, drags it, pinches it, and nudges a place just before the cursor, or the page,
// goes elsewhere: nothing of that is lost.
func TestSheetUnderTheHand(t *testing.T) {
	t.Parallel()
	b := openTab(t, serve(t, measuredTwins(t)))
	b.open("/launch/bittern?frame=60")
	b.wait(sheetStands)
	place := eval[string](b, "location.search")
	span := func() float64 { // once the address tells of the last gesture
		b.wait(fmt.Sprintf(`location.search !== %q && location.search.includes("from=")`, place))
		place = eval[string](b, "location.search")
		return eval[float64](b, `(q => q.has("from") ? q.get("to") - q.get("from") : 1e9)(new URLSearchParams(location.search))`)
	}
	mid := eval[[]float64](b, `(() => { const c = document.querySelector(".paper canvas"); c.scrollIntoView({block: "start", behavior: "instant"}); const r = c.getBoundingClientRect(); return [r.left + r.width / 2, r.top + 120] })()`)
	wheel := func(by float64) {
		_, err := chromedp.Call(b.ctx, input.DispatchMouseEvent, input.DispatchMouseEventParams{Type: input.DispatchMouseEventTypeMouseWheel, X: mid[0], Y: mid[1], DeltaX: 0.001, DeltaY: by})
		b.must(err)
	}
	b.must(chromedp.Do(b.ctx, chromedp.MouseClickXY(mid[0], mid[1])))
	wheel(-240)
	wide := span()
	if wide > 1e8 {
		t.Fatalf("turning the wheel over the sheet after a click does not enlarge it: %s", eval[string](b, "location.search"))
	}
	from := eval[float64](b, `Number(new URLSearchParams(location.search).get("from"))`)
	b.drag(mid[0], mid[1], mid[0]+150, mid[1])
	if got := span(); !near(got, wide, 0.05) {
		t.Errorf("dragging changed the stretch from %.2f to %.2f ms", wide, got)
	}
	if got := eval[float64](b, `Number(new URLSearchParams(location.search).get("from"))`); got >= from {
		t.Errorf("dragging to the right moved the beginning from %.2f to %.2f ms, want earlier", from, got)
	}
	b.pinch(mid[0], mid[1], 60, 120)
	if got := span(); got > 0.8*wide {
		t.Errorf("spreading two fingers changed the stretch from %.2f to %.2f ms, want a smaller one", wide, got)
	}

	// A nudge, and at once the next frame; a nudge, and at once another page.
	b.open("/launch/bittern?frame=60")
	b.wait(sheetStands)
	nudge := func() {
		b.must(chromedp.Do(b.ctx, chromedp.Focus(chromedp.CSS(".streak-at canvas")), chromedp.KeyEvent(kb.ArrowUp)))
	}
	nudge()
	b.must(chromedp.Do(b.ctx, chromedp.KeyEvent(kb.PageUp)))
	b.wait(`document.querySelector(".history").innerText.includes("frame 60")`)
	b.wait(settledWith("Followed"))
	nudge()
	b.open("/")
	for _, frame := range []int{60, 61} {
		b.open(fmt.Sprintf("/launch/bittern?frame=%d", frame))
		b.wait(settledWith("Marked by hand"))
	}
}

// TestBoxSaysWhatToFollow draws a box on a frame of a launch that was never measured.
func TestBoxSaysWhatToFollow(t *testing.T) {
	t.Parallel()
	dir, _ := filmed(t, "bittern", false)
	b := openTab(t, serve(t, dir))
	b.open("/launch/bittern")
	b.press("Say what to follow")
	b.wait(`document.querySelector(".follow canvas").width > 200`)
	b.accessible("/launch/bittern", `document.querySelector(".standing button")`)
	b.open("/launch/bittern")
	b.press("Say what to follow")
	b.wait(`document.querySelector(".follow canvas").width > 200 && document.querySelector("#follow-lanes").value`)
	at := eval[[]float64](b, `(() => { const c = document.querySelector(".follow canvas"); c.scrollIntoView({block: "start", behavior: "instant"}); const r = c.getBoundingClientRect(); return [r.left, r.top, r.width / 240] })()`)
	b.drag(at[0]+100*at[2], at[1]+300*at[2], at[0]+140*at[2], at[1]+360*at[2])
	box := eval[[]float64](b, `["left", "top", "width", "height"].map(s => Number(document.getElementById("follow-" + s).value))`)
	for i, want := range []float64{100, 300, 40, 60} {
		if !near(box[i], want, 2) {
			t.Errorf("the box drawn reads %v, want about [100 300 40 60]", box)
			break
		}
	}
	b.press("Follow what is in the box")
	b.wait(`document.querySelector(".history").hidden || document.getElementById("work").innerText || document.querySelector(".standing .warn") || document.querySelector(".headline .sentence")`)
	text, err := os.ReadFile(filepath.Join(dir, "launches", "bittern", "launch.toml"))
	if err != nil {
		t.Fatal(err)
	}
	if want := fmt.Sprintf("box = [%g, %g, %g, %g]", box[0], box[1], box[2], box[3]); !strings.Contains(string(text), want) {
		t.Errorf("the launch file lacks %q:\n%s", want, text)
	}
}

// drag presses, moves and lets go.
func (b *tab) drag(x0, y0, x1, y1 float64) {
	b.Helper()
	send := func(kind input.DispatchMouseEventType, x, y float64, buttons int64) {
		_, err := chromedp.Call(b.ctx, input.DispatchMouseEvent, input.DispatchMouseEventParams{Type: kind, X: x, Y: y, Button: input.MouseButtonLeft, Buttons: buttons, ClickCount: 1})
		b.must(err)
	}
	send(input.DispatchMouseEventTypeMousePressed, x0, y0, 1)
	for _, part := range []float64{0.25, 0.5, 0.75, 1} {
		send(input.DispatchMouseEventTypeMouseMoved, x0+part*(x1-x0), y0+part*(y1-y0), 1)
	}
	send(input.DispatchMouseEventTypeMouseReleased, x1, y1, 0)
}

// pinch spreads two fingers about a place from one half distance to another, px.
func (b *tab) pinch(x, y, from, to float64) {
	b.Helper()
	send := func(kind input.DispatchTouchEventType, half float64) {
		points := []*input.TouchPoint{}
		if half > 0 {
			points = []*input.TouchPoint{{X: x - half, Y: y, ID: new(0.0)}, {X: x + half, Y: y, ID: new(1.0)}}
		}
		_, err := chromedp.Call(b.ctx, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: kind, TouchPoints: points})
		b.must(err)
	}
	send(input.DispatchTouchEventTypeTouchStart, from)
	for _, part := range []float64{0.25, 0.5, 0.75, 1} {
		send(input.DispatchTouchEventTypeTouchMove, from+part*(to-from))
	}
	send(input.DispatchTouchEventTypeTouchEnd, 0)
}

// TestTwoTabsOnOneLaunch edits a launch in two tabs: the second is told, and nothing is overwritten.
func TestTwoTabsOnOneLaunch(t *testing.T) {
	t.Parallel()
	s := serve(t, measuredTwins(t))
	a, b := openTab(t, s), openTab(t, s)
	for _, tab := range []*tab{a, b} {
		tab.open("/launch/bittern?frame=60")
		tab.wait(sheetStands)
	}
	b.must(chromedp.Do(b.ctx, chromedp.SetValue(chromedp.CSS("#ask-gates"), "0.3 m")))
	a.must(chromedp.Do(a.ctx, chromedp.SetValue(chromedp.CSS("#ask-gates"), "0.25 m")))
	a.press("Answer these")
	a.wait(`[...document.querySelectorAll(".answers th")].some(e => e.innerText === "at 0.25 m")`)
	b.wait(`document.querySelector(".standing .warn")?.innerText.includes("another tab")`)
	b.allow = append(b.allow, "status of 409")
	b.press("Answer these")
	b.wait(`document.getElementById("said").classList.contains("warn")`)
	b.press("Show the launch as it is now")
	b.wait(`[...document.querySelectorAll(".answers th")].some(e => e.innerText === "at 0.25 m")`)
	if got := eval[string](b, `document.getElementById("ask-gates").value`); got != "0.25 m" {
		t.Errorf("the second tab asks for gates at %q after showing the launch as it is, want 0.25 m", got)
	}
}

// sheetStands is true once the sheet is drawn.
const sheetStands = `document.querySelector(".paper canvas")?.ariaValueText && document.querySelector(".answers table") && document.querySelector(".paper canvas").width > 100`

// settledWith is true once the launch is measured and its page says this of the place at the cursor.
func settledWith(words string) string {
	return fmt.Sprintf(`%s && document.querySelector(".standing").hidden && document.querySelector(".place-words").textContent.startsWith(%q)`, sheetStands, words)
}

// placeRounding is how far a place on the page may be from the place in the launch file: the page writes tenths, px.
const placeRounding = 0.11

func near(got, want, within float64) bool { return got-want < within && want-got < within }

// placeY is how far down the frame the place at the cursor is, px.
func (b *tab) placeY() float64 {
	b.Helper()
	return eval[float64](b, `Number(document.getElementById("place-y").value)`)
}

// dragOnStreak takes the ring at the cursor and moves it by px of the screen.
func (b *tab) dragOnStreak(by float64) {
	b.Helper()
	eval[bool](b, `(document.querySelector(".paper").scrollIntoView({block: "start", behavior: "instant"}), true)`)
	at := eval[[]float64](b, ringAt)
	b.drag(at[0], at[1], at[0], at[1]+by)
}

// ringAt finds where the ring is: the canvas states it as data.
const ringAt = `(() => {
	const c = document.querySelector(".paper canvas"), r = c.getBoundingClientRect();
	return [r.left + Number(c.dataset.ringX), r.top + Number(c.dataset.ringY)];
})()`
