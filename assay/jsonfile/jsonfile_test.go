package jsonfile

import (
	"errors"
	"strings"
	"testing"
)

type object struct {
	Name string    `json:"name"`
	Sum  float64   `json:"sum"`
	Rows []float64 `json:"rows"`
}

func TestAFileIsOneObjectOfKnownKeys(t *testing.T) {
	for _, text := range []string{`{"name": "a", "sum": 1.5}`, "\ufeff\n{\"name\": \"a\",\n \"sum\": 1.5}\n\n"} {
		var o object
		if err := Read(strings.NewReader(text), &o); err != nil || o.Name != "a" || o.Sum != 1.5 {
			t.Errorf("%q: %+v, %v", text, o, err)
		}
	}
}

func TestWhatIsWrongIsSaidWithItsLine(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", "it is empty"},
		{" \n", "it is empty"},
		{"{\n\"name\": ", "it ends before the JSON does"},
		{"{\n\"name\": 'a'}", "line 2: this is not JSON: invalid character"},
		{"\x00\x01", "line 1: this is not JSON: invalid character"},
		{"{\"name\": \"a\",\n\"sum\": \"b\"}", `line 2: "sum" cannot be a string`},
		{"[]", "line 1: an array stands where an object belongs"},
		{"{\"nmae\": \"a\"}", `there is no key "nmae"`},
		{"{}\n{}", "line 2: something follows the end of the object"},
		{"{}\nnonsense", "line 2: something follows the end of the object"},
		{strings.Repeat(" ", Most) + "{}", "it is over 1 MiB"},
	} {
		err := Read(strings.NewReader(c.text), new(object))
		if err == nil || !strings.HasPrefix(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%.40q: got %v, want %q", c.text, err, c.want)
		}
	}
}

type broken struct{}

func (broken) Read([]byte) (int, error) { return 0, errors.New("the disk is gone") }

func TestAnErrorOfTheDiskIsReturned(t *testing.T) {
	if err := Read(broken{}, new(object)); err == nil || err.Error() != "the disk is gone" {
		t.Errorf("%v", err)
	}
}

func FuzzDecode(f *testing.F) {
	for _, seed := range []string{"", "{}", `{"name": "a", "rows": [1, 2]}`, "{\n\"sum\": []}", "\ufeff{}", "[]", "{} {}", `{"a": 1}`} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		if err := Decode(text, new(object)); err != nil && strings.TrimSpace(err.Error()) == "" {
			t.Errorf("%q: an error without words", text)
		}
	})
}
