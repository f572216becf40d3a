// Package jsonfile reads the small files of JSON that somebody writes by hand: a
// table of tolerances, rules of law, declared values, a plan. Such a file holds one
// object of known keys, and what is wrong with it is said in one sentence that
// names the line:
//
//	var t Table
//	err := jsonfile.Read(file, &t) // line 7: "from" cannot be a number
//
// The sentences do not begin with a package's name: the caller says what sort of
// file it was.
package jsonfile

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
)

// Most is how many bytes a file may have.
const Most = 1 << 20

// Read decodes a file of one object into v. It fails where there is more than
// [Most], a key that v does not know, anything behind the object, or no object.
func Read(r io.Reader, v any) error {
	text, err := io.ReadAll(io.LimitReader(r, Most+1))
	if err != nil {
		return err
	}
	if len(text) > Most {
		return errors.New("it is over 1 MiB, and nobody writes so much by hand")
	}
	return Decode(text, v)
}

// Decode is Read of a file's text.
func Decode(text []byte, v any) error {
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(v); err != nil {
		return Explain(text, err)
	}
	if _, err := d.Token(); err != io.EOF {
		return fmt.Errorf("line %d: something follows the end of the object, and a file holds one", line(text, d.InputOffset()))
	}
	return nil
}

// Explain says in a sentence where JSON went wrong in a text. An error of another
// sort, such as that of a type that decodes itself, is returned as it is.
func Explain(text []byte, err error) error {
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	switch {
	case len(bytes.TrimSpace(text)) == 0:
		return errors.New("it is empty")
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return errors.New("it ends before the JSON does")
	case errors.As(err, &syntax):
		return fmt.Errorf("line %d: this is not JSON: %w", line(text, syntax.Offset), err)
	case errors.As(err, &kind) && kind.Field == "":
		return fmt.Errorf("line %d: %s stands where an object belongs", line(text, kind.Offset), article(kind.Value))
	case errors.As(err, &kind):
		return fmt.Errorf("line %d: %q cannot be %s", line(text, kind.Offset), kind.Field, article(kind.Value))
	}
	if key, ok := strings.CutPrefix(err.Error(), "json: unknown field "); ok {
		return fmt.Errorf("there is no key %s", key)
	}
	return err
}

func article(noun string) string {
	if strings.ContainsRune("aeiou", rune(noun[0])) {
		return "an " + noun
	}
	return "a " + noun
}

// line counts the lines up to an offset.
func line(text []byte, offset int64) int {
	return 1 + bytes.Count(text[:min(offset, int64(len(text)))], []byte("\n"))
}
