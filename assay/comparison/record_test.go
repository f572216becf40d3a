package comparison

import (
	"math"
	"strings"
	"testing"
)

const twoLamps = `{"format":"lampassay figures 1","lamp":"A","quantities":{
	"luminous_flux":{"value":800,"unit":"lm","contributions":[{"name":"light meter scale","u":"5 %"},{"name":"spectral mismatch","u":24,"own":true}]},
	"power":{"value":8,"unit":"W","u":0.1},
	"ra":{"value":-46,"unit":"1","u":2,"why":"outside the method's scope"}}}
{"format":"lampassay figures 1","lamp":"B","quantities":{"luminous_flux":{"value":1000,"unit":"lm","u":"4%"},"cct":{"value":null,"unit":"K"}}}`

func TestRecordsCarryTheirCauses(t *testing.T) {
	r, err := ReadRecords("two.json", strings.NewReader(twoLamps))
	if err != nil {
		t.Fatal(err)
	}
	if len(r) != 2 || r[0].Lamp != "A" || r[1].Lamp != "B" {
		t.Fatalf("%+v", r)
	}
	flux := r[0].Figures["luminous_flux"]
	near(t, "u(flux)", flux.U(), math.Hypot(40, 24), 1e-12)
	if flux.Causes[0].Own || !flux.Causes[1].Own {
		t.Errorf("causes %+v", flux.Causes)
	}
	stated := r[1].Figures["luminous_flux"]
	near(t, "u as a share", stated.U(), 40, 1e-12)
	if r[0].Figures["ra"].Unranked == "" || r[1].Figures["cct"].Unranked == "" {
		t.Error("a figure outside its scope, or without a value, has a rank")
	}
}

func TestARecordOfAnAssayIsRead(t *testing.T) {
	r, err := ReadRecords("a.json", strings.NewReader(`{"input":{"file":"tube.csv"},"methods":"1","quantities":{"luminous_flux":{"value":800,"unit":"lm","u":50,
		"interval95":[700,900],"budget":[{"input":"light meter scale","u":40,"share":0.8},{"input":"spectral mismatch","u":20,"share":0.2}],"why":""},"ra":{"value":80,"unit":"1","u":null}},"findings":[]}`))
	if err != nil {
		t.Fatal(err)
	}
	f := r[0].Figures["luminous_flux"]
	near(t, "u", f.U(), 50, 1e-12) // what the budget leaves out is added
	if r[0].Lamp != "tube" || len(f.Causes) != 3 || f.Causes[0].Own || !f.Causes[1].Own || !f.Causes[2].Own {
		t.Errorf("%+v", r[0])
	}
	if len(r[0].Figures["ra"].Causes) != 0 {
		t.Error("a figure without u has causes")
	}
}

func TestBadRecordsAreRefusedInOneSentence(t *testing.T) {
	figure := func(f string) string {
		return `{"format":"lampassay figures 1","quantities":{"luminous_flux":` + f + `}}`
	}
	for _, c := range []struct{ text, want string }{
		{"", "holds no figures"},
		{"{", "ends before the JSON does"},
		{"hello", "not JSON"},
		{`{"format":"other"}`, "neither"},
		{`{"quantities":{}}`, "neither"},
		{figure(`{"value":"many"}`), "string"},
		{figure(`{"value":8,"u":-1}`), "negative"},
		{figure(`{"value":8,"u":"much"}`), "no standard uncertainty"},
		{figure(`{"value":8,"u":[1]}`), "a number or a share"},
		{figure(`{"value":8,"u":1,"contributions":[{"name":"x","u":3}]}`), "come to 3, and u says 1"},
		{figure(`{"value":8,"contributions":[{"u":3}]}`), "a name and a u"},
		{figure(`{"value":8,"contributions":[{"name":"x","u":3},{"name":"x","u":3}]}`), "stands twice"},
		{figure(`{"value":8,"contributions":[{"name":"x","u":3}],"budget":[{"input":"x","u":3}]}`), "use one"},
	} {
		_, err := ReadRecords("a.json", strings.NewReader(c.text))
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "a.json") {
			t.Errorf("%q: error %v, want one that says %q", c.text, err, c.want)
		}
	}
}

func FuzzReadRecords(f *testing.F) {
	f.Add(twoLamps)
	f.Add(`{"methods":"1","quantities":{"power":{"value":3,"u":0.1,"budget":[{"input":"x","u":0.1}]}}}`)
	f.Fuzz(func(t *testing.T, text string) {
		records, err := ReadRecords("fuzz", strings.NewReader(text))
		if err != nil {
			return
		}
		for _, r := range records {
			for key, g := range r.Figures {
				if g.Unranked == "" && math.IsNaN(g.Value) || math.IsNaN(g.U()) {
					t.Errorf("%s: %+v", key, g)
				}
			}
		}
	})
}
