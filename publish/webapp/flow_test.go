package webapp

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"lampassay/bench/live/simulate"
)

// TestAnEveningAtTheBench is the whole job in a browser: a lamp, a file that is read
// wrongly at first, a run-up with instruments, assays, a comparison, and the same
// figures in another notebook.
func TestAnEveningAtTheBench(t *testing.T) {
	// A run-up at 180 times the speed of time.
	stage, err := simulate.Open(t.Context(), simulate.Options{Rate: 180, Folder: t.TempDir(), Every: 100 * time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	setUp, err := stage.SetUp()
	if err != nil {
		t.Fatal(err)
	}
	b := newBench(t, func(o *Options) { o.SetUp, o.Began = setUp, stage.Stage.SwitchOn })
	t.Cleanup(func() {
		if err := b.server.Close(); err != nil {
			t.Error(err)
		}
		if err := stage.Close(); err != nil {
			t.Error(err)
		}
	})
	p := openTab(t, b.http.URL)
	p.do(chromedp.EmulateViewport(1280, 900))

	// A lamp.
	p.visit("/")
	p.press("New lamp")
	p.said("What the box says")
	p.fill("[name=name]", "Level crossing lamp")
	p.fill("[name=technology]", "low-pressure sodium")
	p.press("Add the lamp")
	p.said("Lamp 1 was added.")

	// A sitting: cautions first, then the instruments, until the lamp is stable.
	p.press("Begin a sitting")
	p.said("It holds metallic sodium")
	p.fill("[name=title]", "From cold")
	p.press("Begin")
	p.said("Checklist")
	p.press("Read the instruments")
	p.said("mains is there")
	p.fill("[name=note]", "switched on")
	p.press("Record")
	p.said("switched on")
	p.press("Pause")
	p.said("Paused: what instruments say is shown, not kept.")
	p.press("Go on recording")
	p.await("the charts", `document.querySelectorAll('.uplot').length >= 3`)
	p.await("a spectrum", `document.getElementById('charts').innerText.includes('Spectrum of reading')`)
	p.visit("/sittings/1")
	p.await("a verdict on the run-up", `/Not yet stable/.test(document.querySelector('[data-live=runup]').innerText)`)

	// Half an hour of the lamp is ten seconds of ours.
	p.await2("the lamp to be stable", `/Stable\./.test(document.querySelector('[data-live=runup]').innerText)`, 100*time.Second)
	if *shots != "" {
		p.shoot(filepath.Join(*shots, "sitting-live-1280-light.png"))
	}
	p.press("Stop the instruments")
	p.said("Read the instruments")
	p.press("Compute the assay")
	p.said("Skip to the page")
	p.await("the sheet", `location.pathname === '/assays/1'`)
	p.said("Level crossing lamp")

	// A file whose first guess is wrong, put right on the page.
	var odd strings.Builder
	odd.WriteString("nm;reference;lamp\n")
	for nm := 380; nm <= 780; nm += 2 {
		fmt.Fprintf(&odd, "%d;%d,25;%d,5\n", nm, 900-nm, 20+nm%61)
	}
	p.visit("/import")
	p.choose("odd.csv", []byte(odd.String()))
	p.press("Look at it")
	p.said("How it is read")
	p.fill("#settle [name=column]", "2")
	p.await("the other column", `location.search.includes('column=2') && document.querySelector('#settle [name=column]').value === '2'`)
	p.said("Strongest at 380 nm")
	p.fill("[name=new_lamp]", "Odd lamp")
	p.fill("[name=luminous_flux]", "810,5")
	p.press("Keep it and compute the assay")
	p.await("the sheet", `location.pathname === '/assays/2'`)
	p.said("Odd lamp")

	// A third, and the three side by side, chosen by keyboard alone.
	p.visit("/import")
	p.choose("tube.csv", clubFile(t, 3))
	p.press("Look at it")
	p.fill("[name=new_lamp]", "Bench tube")
	p.fill("[name=luminous_flux]", "3230")
	p.fill("[name=power]", "45.2")
	p.press("Keep it and compute the assay")
	p.await("the sheet", `location.pathname === '/assays/3'`)
	p.visit("/")
	p.said("1–3 of 3 lamps")
	for _, name := range []string{"Level crossing lamp", "Odd lamp", "Bench tube"} {
		p.tabTo("Compare " + name)
		p.do(chromedp.KeyEvent(" "))
	}
	p.said("3 are chosen.")
	p.tabTo("Compare the chosen")
	p.do(chromedp.KeyEvent(kb.Enter))
	p.said("mW/nm per lumen")
	p.fill("[name=by]", "area")
	p.press("Show")
	p.said("share of the visible radiation per nm")

	// Everything, in another notebook.
	archive := b.get("/export")
	other := serveNotebook(t, importedFrom(t, archive.body))
	for id := range 3 {
		path := fmt.Sprintf("/assays/%d", id+1)
		if here, there := textOf(b.page(path)), textOf(other.page(path)); here != there {
			t.Errorf("%s says something else in the other notebook", path)
		}
	}
	p.quiet("404")
}

// await2 is await with another patience.
func (p *tab) await2(what, expression string, patience time.Duration) {
	p.Helper()
	for begun := time.Now(); time.Since(begun) < patience; time.Sleep(250 * time.Millisecond) {
		if v, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool](expression)); err == nil && v {
			return
		}
	}
	p.Fatalf("%s did not come: %s", what, ask[string](p, `document.querySelector('main').innerText.slice(0, 3000)`))
}

// tabTo presses Tab until what has this name has the focus, and checks that the
// focus can be seen.
func (p *tab) tabTo(name string) {
	p.Helper()
	for range 80 {
		p.do(chromedp.KeyEvent(kb.Tab))
		if ask[string](p, `document.activeElement.getAttribute('aria-label') ?? document.activeElement.textContent.trim()`) == name {
			if ask[string](p, `getComputedStyle(document.activeElement).outlineStyle`) == "none" {
				p.Errorf("the focus on %q cannot be seen", name)
			}
			return
		}
	}
	p.Fatalf("Tab never reaches %q", name)
}

func TestTheSlidersMoveTheAnswer(t *testing.T) {
	b := newBench(t)
	p := openTab(t, b.http.URL)
	p.visit("/limit?cct=3000&ra=80")
	p.said("no light of 3000 K on the Planckian locus with Ra of at least 80")
	p.fill("[name=cct]", "5000")
	p.said("no light of 5000 K on the Planckian locus with Ra of at least 80")
	p.fill("[name=ra]", "0")
	p.said("whatever it does to colours")
	if got := ask[string](p, `location.search`); got != "?cct=5000&ra=0" {
		t.Errorf("the address is %s, and would not show this again", got)
	}
	p.quiet()
}

func TestAnOpenPageShowsWhatAnotherDoes(t *testing.T) {
	b := newBench(t)
	p := openTab(t, b.http.URL)
	p.visit("/")
	p.said("No lamp stands here yet")
	b.post("/lamps", map[string][]string{"name": {"Kitchen tube"}})
	p.said("Kitchen tube")
	p.fill("[name=text]", "nothing like it")
	p.said("No lamp has all of that.")
	p.press("Dark page")
	p.visit("/help")
	if got := ask[string](p, `document.documentElement.dataset.theme`); got != "dark" {
		t.Errorf("the page after the choice of dark is %q", got)
	}
	p.quiet()
}
