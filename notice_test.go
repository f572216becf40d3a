package lampassay_test

import (
	"os"
	"strings"
	"testing"

	"lampassay/light/standards"
)

func notice(t *testing.T) string {
	t.Helper()
	raw, err := os.ReadFile("NOTICE")
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}

func TestNoticeNamesEveryTable(t *testing.T) {
	notice := notice(t)
	tables, err := standards.Tables()
	if err != nil {
		t.Fatal(err)
	}
	if len(tables) == 0 {
		t.Fatal("no table is compiled in")
	}
	for _, table := range tables {
		_, entry, found := strings.Cut(notice, "\n  "+table.Name+".csv\n")
		if !found {
			t.Errorf("NOTICE has no entry for %s.csv", table.Name)
			continue
		}
		entry, _, _ = strings.Cut(entry, "\n\n")
		entry = strings.Join(strings.Fields(entry), " ")
		want := []string{table.Title, table.Source, table.Changed}
		if table.DOI != "" {
			want = append(want, "https://doi.org/"+table.DOI)
		}
		for _, w := range want {
			if !strings.Contains(entry, w) {
				t.Errorf("NOTICE on %s.csv does not say %q", table.Name, w)
			}
		}
	}
}

func TestNoticeCarriesTheCopyrightOfTheFonts(t *testing.T) {
	licence, err := os.ReadFile("publish/figure/fonts/OFL.txt")
	if err != nil {
		t.Fatal(err)
	}
	copyright, _, _ := strings.Cut(string(licence), " (http")
	copyright, _, _ = strings.Cut(copyright, " (me@")
	_, fonts, _ := strings.Cut(notice(t), "\n--- begin: fonts")
	fonts, _, _ = strings.Cut(fonts, "\n--- end: fonts")
	if !strings.HasPrefix(copyright, "Copyright") || !strings.Contains(fonts, copyright) {
		t.Errorf("the fonts' section of NOTICE does not say %q", copyright)
	}
}
