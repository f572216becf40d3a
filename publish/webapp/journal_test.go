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
	b.must("/sittings/1/end", nil) // change 3
	b.must("/sittings/1/end", nil) // change 4: it goes on
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
