package web_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// TestLaunchIsMeasuredAndCorrected measures a drawn launch on its page, reads the sheet by keyboard, moves a point of the trace
// under the loupe and on the streak, takes it back, and asks for another speed.
func TestLaunchIsMeasuredAndCorrected(t *testing.T) {
	t.Parallel()
	dir, _ := filmed(t, "bittern", 25, false)
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

// TestTwoTabsOnOneLaunch edits a launch in two tabs: the second is told, and nothing is overwritten.
func TestTwoTabsOnOneLaunch(t *testing.T) {
	t.Parallel()
	dir, _ := filmed(t, "bittern", 26, false)
	s := serve(t, dir)
	a := openTab(t, s)
	a.open("/launch/bittern")
	a.press("Measure this launch")
	a.wait(`document.querySelector(".headline .sentence") && document.querySelector(".standing").hidden`)
	b := openTab(t, s)
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
	for _, step := range []struct {
		kind    input.DispatchMouseEventType
		dy      float64
		buttons int64
	}{{input.DispatchMouseEventTypeMousePressed, 0, 1}, {input.DispatchMouseEventTypeMouseMoved, by / 2, 1},
		{input.DispatchMouseEventTypeMouseMoved, by, 1}, {input.DispatchMouseEventTypeMouseReleased, by, 0}} {
		_, err := chromedp.Call(b.ctx, input.DispatchMouseEvent, input.DispatchMouseEventParams{Type: step.kind, X: at[0], Y: at[1] + step.dy,
			Button: input.MouseButtonLeft, Buttons: step.buttons, ClickCount: 1})
		b.must(err)
		time.Sleep(20 * time.Millisecond)
	}
}

// ringAt finds where the ring is: the canvas states it as data.
const ringAt = `(() => {
	const c = document.querySelector(".paper canvas"), r = c.getBoundingClientRect();
	return [r.left + Number(c.dataset.ringX), r.top + Number(c.dataset.ringY)];
})()`
