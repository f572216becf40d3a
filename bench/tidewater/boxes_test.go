package tidewater

import (
	"bytes"
	"strings"
	"testing"

	"lampassay/assay/claims"
)

func TestEveryBoxIsReadAsWritten(t *testing.T) {
	written := 0
	for _, l := range Lamps() {
		var b bytes.Buffer
		if err := l.WriteBox(&b); err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(b.String(), "Invented") {
			t.Errorf("%s: the box does not say that it is invented", l.Slug)
		}
		d, err := claims.ReadDeclared(l.Slug, &b)
		if err != nil {
			t.Error(err)
			continue
		}
		if d.Claims[0].Value != l.Declared.FluxLm || d.Claims[1].Value != l.Declared.PowerW {
			t.Errorf("%s: %+v", l.Slug, d.Claims)
		}
		written += len(further[l.Slug])
	}
	if written != 7 {
		t.Errorf("%d further claims were written, want 7: a slug may be misspelt", written)
	}
}
