package webapp

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"lampassay/bench/notebook"
)

// withBoard gives the bench one instrument, which sends its readings.
func withBoard(o *Options) {
	o.SetUp = []byte(`{"sources": [{"kind": "push", "channel": "board", "token": "a-token-for-the-board-0123456789"}]}`)
}

// refuses asks that a request is answered with a conflict and this sentence.
func (b *bench) refuses(what string, a answer, says string) {
	b.Helper()
	if a.status != http.StatusConflict || !strings.Contains(textOf(a.body), says) {
		b.Errorf("%s is answered with %d: %.600s", what, a.status, textOf(a.body))
	}
}

func TestNothingIsBegunWithALampInTheTrash(t *testing.T) {
	b := newBench(t, withBoard)
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}, "technology": {"fluorescent"}})
	b.must("/sittings", url.Values{"lamp": {"1"}})
	const offered = `href="/lamps/1/sit"`
	if !strings.Contains(b.page("/lamps/1"), offered) {
		t.Fatal("no sitting is offered with a lamp in use")
	}
	spectrum := []byte("nm,W/nm\n400,1\n500,2\n600,3\n700,1\n")
	looked := b.upload("/import", "tube.csv", spectrum, url.Values{"lamp": {"1"}})
	if looked.status != http.StatusOK {
		t.Fatalf("the file: %d %s", looked.status, textOf(looked.body))
	}
	file, _, _ := strings.Cut(looked.path, "?")

	away := url.Values{"kind": {"lamp"}, "id": {"1"}}
	b.must("/trash", away)
	page := b.page("/lamps/1")
	for _, act := range []string{offered, `href="/import?lamp=1"`, `href="/lamps/1/edit"`} {
		if strings.Contains(page, act) {
			t.Errorf("the page of a lamp in the trash offers %s", act)
		}
	}
	const says = "Lamp Kitchen tube is in the trash: bring it back first."
	b.refuses("the form of a sitting", b.get("/lamps/1/sit"), says)
	b.refuses("a sitting", b.post("/sittings", url.Values{"lamp": {"1"}, "title": {"Late at night"}}), says)
	want(t, b.post("/sittings", url.Values{"lamp": {"1"}}).body, "What you wrote is still here")
	b.refuses("reading for a sitting of it", b.post("/sittings/1/listen", url.Values{"do": {"start"}}), says)
	b.refuses("the form of an import", b.get("/import?lamp=1"), says)
	b.refuses("a file for the lamp", b.upload("/import", "tube.csv", spectrum, url.Values{"lamp": {"1"}}), says)
	b.refuses("a file for its sitting", b.upload("/import", "tube.csv", spectrum, url.Values{"sitting": {"1"}}), says)
	b.refuses("a file that was looked at", b.post(file, url.Values{"name": {"tube.csv"}, "lamp": {"1"}}), says)
	b.refuses("a file looked at for its sitting", b.post(file, url.Values{"name": {"tube.csv"}, "sitting": {"1"}}), says)
	list, err := b.nb.Sittings().List(t.Context(), notebook.Query{})
	if err != nil || list.Total != 1 {
		t.Errorf("%d sittings are kept, want the one from before (%v)", list.Total, err)
	}

	b.must("/restore", away)
	b.must("/sittings", url.Values{"lamp": {"1"}})
	b.must(file, url.Values{"name": {"tube.csv"}, "lamp": {"1"}})
}

func TestALampWhoseSittingIsReadIsNotPutAway(t *testing.T) {
	b := newBench(t, withBoard)
	t.Cleanup(func() {
		if err := b.server.Close(); err != nil {
			t.Error(err)
		}
	})
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}})
	b.must("/lamps", url.Values{"name": {"Cellar tube"}})
	b.must("/sittings", url.Values{"lamp": {"1"}})
	b.must("/sittings/1/listen", url.Values{"do": {"start"}})
	lamp := func(id string) url.Values { return url.Values{"kind": {"lamp"}, "id": {id}} }
	b.refuses("putting the lamp away", b.post("/trash", lamp("1")), "The instruments are being read for sitting 1 of this lamp: stop them on its page first.")
	b.must("/trash", lamp("2"))
	b.must("/sittings/1/listen", url.Values{"do": {"stop"}})
	b.must("/trash", lamp("1"))
}

func TestWhatIsSentToTheTrashIsToldOnlyThat(t *testing.T) {
	b := newBench(t)
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}})
	b.must("/sittings", url.Values{"lamp": {"1"}})
	b.must("/trash", url.Values{"kind": {"sitting"}, "id": {"1"}})
	b.must("/trash", url.Values{"kind": {"lamp"}, "id": {"1"}})
	for says, a := range map[string]answer{
		"Sitting 1 is in the trash: bring it back first.": b.post("/sittings/1/reading", url.Values{"power": {"18"}}),
		"Lamp 1 is in the trash: bring it back first.":    b.post("/lamps/1/history", url.Values{"on": {"2026-01-05"}, "text": {"New starter"}}),
	} {
		b.refuses("an entry", a, says)
		want(t, a.body, "Nothing was kept. What you wrote is still here:")
		if strings.Contains(a.body, "Send it again") {
			t.Errorf("%q asks to send it again, which would never help", says)
		}
	}
}

func TestTheTrashNamesWhatIsInIt(t *testing.T) {
	b := newBench(t, on("2026-11-25"))
	b.club(1)
	name := b.server.nameOf(t.Context(), notebook.Ref{Kind: notebook.KindLamp, ID: 1})
	a, err := b.nb.Assays().Get(t.Context(), 1)
	if err != nil || name == "" {
		t.Fatal(name, err)
	}
	b.must("/trash", url.Values{"kind": {"assay"}, "id": {"1"}})
	want(t, b.page("/trash"), name+", assay of "+a.Made.Local().Format("2 January 2006"))
	b.must("/references", url.Values{"name": {"Halogen no. 3"}, "sort": {"halogen"}})
	want(t, b.page("/references/1"), "Put this reference lamp into the trash")
}

func TestAnErratumStaysWhileItsPublicationIsInTheTrash(t *testing.T) {
	b := newBench(t, on("2026-11-25"))
	b.club(1)
	b.must("/publications", url.Values{"title": {"Lamps of the club"}, "made": {"2026-11-20"}, "assay": {"1"}})
	b.must("/publications/1/errata", url.Values{"at": {"2026-11-25"}, "text": {"The power is that of the mains."}})
	for _, page := range []string{"/assays/1", "/lamps/1"} {
		if strings.Contains(b.page(page), "publication is in the trash") {
			t.Errorf("%s: a publication in use is said to be in the trash", page)
		}
	}
	b.must("/trash", url.Values{"kind": {"publication"}, "id": {"1"}})
	for page, says := range map[string]string{
		"/assays/1": "The power is that of the mains. The publication is in the trash.",
		"/lamps/1":  "20 November 2026; the publication is in the trash Erratum, 25 November 2026. The power is that of the mains.",
	} {
		want(t, b.page(page), says)
	}
	if strings.Contains(b.page("/publications"), "Lamps of the club") {
		t.Error("what was published still lists what is in the trash")
	}
}
