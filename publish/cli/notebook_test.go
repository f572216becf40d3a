package cli

import (
	"bytes"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"lampassay/bench/notebook"
	"lampassay/bench/notebook/sqlite"
)

// TestAListShowsFigures lists what the command line alone cannot yet put into a
// notebook: a lamp with a sitting and an assay.
func TestAListShowsFigures(t *testing.T) {
	name := filepath.Join(t.TempDir(), "bench.notebook")
	nb, err := sqlite.Create(t.Context(), name)
	if err != nil {
		t.Fatal(err)
	}
	lamp, err := nb.Lamps().Add(t.Context(), notebook.Lamp{Name: "Kitchen tube"})
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 11, 25, 9, 30, 0, 0, time.UTC)
	sitting, err := nb.Sittings().Add(t.Context(), notebook.Sitting{Lamp: lamp.ID, Title: "Run-up", Started: at})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := nb.Append(t.Context(), sitting.ID, []notebook.Reading{{At: at, Channel: "bench", Note: "on"}}); err != nil {
		t.Fatal(err)
	}
	_, err = nb.Assays().Add(t.Context(), notebook.Assay{
		Lamp: lamp.ID, Made: at, Program: "1", Inputs: []notebook.Input{{What: "file", SHA256: notebook.SumOf(nil)}},
		Figures: map[string]float64{"cct": 2987.4, "ra": 82.06}, Record: []byte("{}"),
	})
	if err != nil {
		t.Fatal(err)
	}
	made := notebook.Day{Time: time.Date(2024, 5, 1, 0, 0, 0, 0, time.UTC)}
	if _, err := nb.References().Add(t.Context(), notebook.Reference{Name: "Halogen no. 3", Sort: "halogen", Made: &made, TrustedDays: 365}); err != nil {
		t.Fatal(err)
	}
	_, err = nb.Publications().Add(t.Context(), notebook.Publication{Title: "Lamps of the club", Made: at, Where: "club paper", Assays: []notebook.ID{1}, Errata: []notebook.Erratum{{At: at, Text: "x"}}})
	if err != nil {
		t.Fatal(err)
	}
	if err := nb.Close(); err != nil {
		t.Fatal(err)
	}
	for kind, want := range map[string][]string{
		"lamp":         {"Φ lm", "Kitchen tube", "2987", "82", "–"},
		"assays":       {"2026-11-25 09:30", "lamp 1, by version 1", "2987"},
		"sittings":     {"Run-up", "lamp 1, 2026-11-25 09:30, readings: 1"},
		"reference":    {"Halogen no. 3", "halogen, its calibration was to be trusted until 1\u00a0May\u00a02025"},
		"publications": {"Lamps of the club", "2026-11-25, club paper, errata: 1"},
	} {
		var out, talk bytes.Buffer
		if code := Main(t.Context(), []string{"notebook", "list", name, kind}, strings.NewReader(""), &out, &talk); code != exitDone {
			t.Errorf("list %s: exit code %d, %s", kind, code, talk.String())
		}
		for _, w := range want {
			if !strings.Contains(out.String(), w) {
				t.Errorf("list %s says\n%s\nwithout %q", kind, out.String(), w)
			}
		}
	}
}
