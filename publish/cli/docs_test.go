package cli

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestGeneratedPagesAreWhatTheProgramPrints keeps the pages under docs/ that
// are printed by the program from going stale: "make docs" writes them anew.
func TestGeneratedPagesAreWhatTheProgramPrints(t *testing.T) {
	for page, args := range map[string][]string{
		"validation.md":        {"selfcheck", "--markdown"},
		"method/quantities.md": {"quantities", "--markdown"},
	} {
		var out, talk bytes.Buffer
		if code := Main(context.Background(), args, strings.NewReader(""), &out, &talk); code != exitDone {
			t.Errorf("%v: exit code %d, %s", args, code, talk.String())
		}
		got, err := os.ReadFile(filepath.Join("../../docs", page))
		if err != nil {
			t.Error(err)
			continue
		}
		if !bytes.Equal(got, out.Bytes()) {
			t.Errorf("docs/%s is stale: run make docs", page)
		}
	}
}
