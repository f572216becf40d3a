package webapp

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"lampassay/bench/notebook"
)

// bare makes a lamp and a sitting, changes 1 and 2.
func (b *bench) bare() {
	b.Helper()
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}})
	b.must("/sittings", url.Values{"lamp": {"1"}})
}

func (b *bench) record(n int) {
	b.Helper()
	for i := range n {
		v := float64(i)
		if _, err := b.nb.Append(b.Context(), 1, []notebook.Reading{{At: time.Now(), Channel: "lux", Values: []notebook.Value{{Key: "illuminance", V: &v, Unit: "lx"}}}}); err != nil {
			b.Fatal(err)
		}
	}
}

// TestRecordingDoesNotHideThePastOfTheLog uses up more numbers of changes than
// stand on a page.
func TestRecordingDoesNotHideThePastOfTheLog(t *testing.T) {
	b := newBench(t)
	b.bare()
	b.record(3 * changesShown)
	want(t, b.page("/log"), "Lamp 1 was added.", "Sitting 1 was added.", "Sitting 1 has new readings.")
	for i := range changesShown {
		b.must("/lamps/1", url.Values{"name": {fmt.Sprint("Tube ", i)}, "revision": {fmt.Sprint(revisionOf(b))}})
	}
	first := b.page("/log")
	if strings.Contains(textOf(first), "Lamp 1 was added.") {
		t.Error("the first page holds more than a page")
	}
	before := b.numberIn(first, `/log\?before=(\d+)`)
	older := b.page(fmt.Sprintf("/log?before=%d", before))
	want(t, older, "Lamp 1 was added.", "Sitting 1 has new readings.", "Latest")
	if strings.Contains(older, `rel="prev"`) {
		t.Error("there is a page before the first change")
	}
	want(t, b.page("/log?before=1"), "Nothing happened before change 1.")
}

func revisionOf(b *bench) int64 {
	b.Helper()
	l, err := b.nb.Lamps().Get(b.Context(), 1)
	if err != nil {
		b.Fatal(err)
	}
	return l.Revision
}

func TestTheLogSaysWhatWasAltered(t *testing.T) {
	b := newBench(t)
	b.bare()
	b.record(3)
	b.must("/sittings/1/strike", url.Values{"from": {"2"}, "reason": {"door open"}})
	b.must("/sittings/1/end", nil)
	b.must("/lamps/1", url.Values{"name": {"Cellar tube"}, "base": {"G13"}, "revision": {"1"}})
	log := b.page("/log")
	want(t, log, "Sitting 1 was changed: reading 2 set aside: door open.", "Sitting 1 was changed: it ended.", "Lamp 1 was changed: name; base.")
	b.must("/undo", url.Values{"change": {fmt.Sprint(b.server.latest(t.Context()))}, "from": {"/log"}})
	want(t, b.page("/log"), "Lamp 1 was changed, which took back change 8: name; base.")
}

// TestASittingThatIsBeingReadStaysInUse tries each way of taking it out of use while a
// board may push at any moment.
func TestASittingThatIsBeingReadStaysInUse(t *testing.T) {
	const token = "invented-token-of-the-club"
	setUp := `{"sources": [{"kind": "push", "channel": "board", "token": "` + token + `"}]}`
	b := newBench(t, func(o *Options) { o.SetUp = []byte(setUp) })
	t.Cleanup(func() {
		if err := b.server.Close(); err != nil {
			t.Error(err)
		}
	})
	b.bare()
	b.must("/sittings/1/end", nil)                         // change 3
	b.must("/sittings/1/end", url.Values{"do": {"go on"}}) // change 4
	away := url.Values{"kind": {"sitting"}, "id": {"1"}, "from": {"/sittings/1"}}
	b.must("/trash", away)   // change 5
	b.must("/restore", away) // change 6
	b.must("/sittings/1/listen", url.Values{"do": {"start"}})
	undo := func(n string) func() answer {
		return func() answer { return b.post("/undo", url.Values{"change": {n}, "from": {"/log"}}) }
	}
	for way, try := range map[string]func() answer{
		"into the trash":             func() answer { return b.post("/trash", away) },
		"its beginning taken back":   undo("2"),
		"its going on taken back":    undo("4"),
		"its restoration taken back": undo("6"),
	} {
		a := try()
		if a.status != http.StatusConflict {
			t.Errorf("%s is answered with %d", way, a.status)
		}
		want(t, a.body, "The instruments are being read for sitting 1: stop them on its page first")
	}
	r := b.request("POST", "/push", strings.NewReader(`{"values": {"illuminance": {"value": 123.5, "unit": "lx"}}}`))
	r.Header.Set("Authorization", "Bearer "+token)
	r.Header.Set("Content-Type", "application/json")
	if a := b.do(r); a.status != http.StatusOK {
		t.Errorf("a push meanwhile is answered with %d", a.status)
	}
	b.must("/sittings/1/listen", url.Values{"do": {"stop"}})
	if tally, err := b.nb.Tally(t.Context(), 1); err != nil || tally.Readings != 1 {
		t.Errorf("%d readings are kept of one (%v)", tally.Readings, err)
	}
	b.must("/trash", away)
	if a := b.post("/sittings/1/listen", url.Values{"do": {"start"}}); a.status != http.StatusUnprocessableEntity {
		t.Errorf("reading into the trash is answered with %d", a.status)
	}
}

func TestWhatIsInTheTrashSaysSoAndComesBackFromItsPage(t *testing.T) {
	b := newBench(t)
	id := b.club(1)[0]
	page := fmt.Sprintf("/assays/%d", id)
	fields := url.Values{"kind": {"assay"}, "id": {fmt.Sprint(id)}, "from": {page}}
	if strings.Contains(b.page(page), "In the trash since") {
		t.Error("an assay in use is said to be in the trash")
	}
	if gone := b.must("/trash", fields); !strings.HasPrefix(gone.path, "/?done=") {
		t.Errorf("the assay is put away from its page, and the browser is at %s", gone.path)
	}
	trashed := b.page(page)
	want(t, trashed, "In the trash since", "Bring it back")
	if strings.Contains(trashed, "Put this assay") {
		t.Error("what is in the trash is offered to be put there")
	}
	if back := b.must("/restore", fields); !strings.HasPrefix(back.path, page+"?done=") {
		t.Errorf("the assay was brought back from its page, and the browser is at %s", back.path)
	}
	made := b.server.latest(t.Context()) - 1 // that it was put away
	again := b.must("/undo", url.Values{"change": {fmt.Sprint(made + 1)}, "from": {page + "?done=7"}})
	if !strings.HasPrefix(again.path, "/?done=") {
		t.Errorf("the undo put the assay away, and the browser is at %s", again.path)
	}
}

func TestAComparisonIsShownAsItWasKept(t *testing.T) {
	b := newBench(t)
	ids := b.club(2)
	choice := func(title, by string) url.Values {
		return url.Values{"title": {title}, "by": {by}, "assay": {fmt.Sprint(ids[0]), fmt.Sprint(ids[1])}}
	}
	for says, fields := range map[string]url.Values{
		"A comparison needs a title":      choice(" ", "watt"),
		"Spectra cannot be drawn “zzz”":   choice("Two lamps", "zzz"),
		"A comparison takes 2 to 8 lamps": {"title": {"One"}, "by": {"watt"}, "assay": {fmt.Sprint(ids[0])}},
	} {
		a := b.post("/comparisons", fields)
		if a.status != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d", says, a.status)
		}
		want(t, a.body, says)
	}
	kept := b.must("/comparisons", choice("Two lamps", "watt"))
	for _, path := range []string{kept.path, "/compare?kept=1"} { // the log leads to the second
		want(t, b.page(path), "Two lamps", "per watt at the mains")
		if page := b.page(path); !strings.Contains(page, `value="watt" selected`) {
			t.Errorf("%s is not drawn as it was kept", path)
		}
	}
	b.must("/comparisons/1", url.Values{"title": {"The pair"}, "revision": {fmt.Sprint(b.server.latest(t.Context()))}})
	want(t, b.page("/compare?kept=1"), "The pair", "Rename")
	if a := b.post("/comparisons/1", url.Values{"title": {"Mine"}, "revision": {"1"}}); a.status != http.StatusConflict {
		t.Errorf("a title given on an older page is answered with %d", a.status)
	}
	gone := b.must("/trash", url.Values{"kind": {"comparison"}, "id": {"1"}, "from": {"/compare?kept=1"}})
	if !strings.HasPrefix(gone.path, "/compare?done=") || strings.Contains(textOf(gone.body), "Kept comparisons") {
		t.Errorf("the comparison is put away, and the browser is at %s: %.300s", gone.path, textOf(gone.body))
	}
	want(t, b.page("/compare?kept=1"), "In the trash since", "Bring it back")
	b.must("/restore", url.Values{"kind": {"comparison"}, "id": {"1"}, "from": {"/compare?kept=1"}})
	b.must("/trash", url.Values{"kind": {"assay"}, "id": {fmt.Sprint(ids[1])}})
	want(t, b.page("/compare?kept=1"), fmt.Sprintf("its assay %d is in the trash since", ids[1]))
}
