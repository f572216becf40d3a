package lampassay_test

import (
	"os"
	"regexp"
	"strings"
	"testing"
)

// TestEveryDependencyHasItsReason holds docs/dependencies.md to go.mod.
func TestEveryDependencyHasItsReason(t *testing.T) {
	mod, err := os.ReadFile("go.mod")
	if err != nil {
		t.Fatal(err)
	}
	doc, err := os.ReadFile("docs/dependencies.md")
	if err != nil {
		t.Fatal(err)
	}
	direct := 0
	for _, line := range strings.Split(string(mod), "\n") {
		m := regexp.MustCompile(`^\t(\S+) v\S+$`).FindStringSubmatch(line)
		if m == nil {
			continue
		}
		direct++
		if !strings.Contains(string(doc), m[1]) {
			t.Errorf("docs/dependencies.md gives no reason for %s", m[1])
		}
	}
	if direct == 0 {
		t.Error("go.mod names no direct dependency")
	}
}
