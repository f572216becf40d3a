package webapp

import (
	"fmt"
	"html/template"
	"slices"
)

// fields writes the fields of one form into a page: empty or with what the page
// knows at first, and with what was typed where the form could not be taken. The
// template "field" draws what its methods return.
type fields struct {
	form    string // its name
	sent    *form  // that could not be taken, nil at first
	focused bool   // a field at fault has the focus
}

// For returns the fields of the form of this name. It may be asked of nil, which is
// a page that no form was sent to.
func (f *form) For(name string) *fields {
	all := &fields{form: name}
	if f != nil && f.name == name && len(f.faults) > 0 {
		all.sent = f
	}
	return all
}

// Refused reports whether the form was sent and could not be taken.
func (s *fields) Refused() bool { return s.sent != nil }

// field is one field of a form as the page shows it.
type field struct {
	ID, Name, Label string
	Kind            string // input, area, select or file
	Type            string // of an input
	Mode            string // of a keyboard on a screen
	Value           string
	Choices         []choice // of a select, or what is suggested for an input
	Fault           string   // the sentence beside it
	Theirs          string   // what is kept meanwhile, where somebody else changed it
	Lost            string   // the file that has to be chosen again
	Long, Must      bool
	Focus           bool
	Most            int // characters
	Rows            int
	Hint, Accept    string
	refused         bool // the form was sent and could not be taken
}

// field makes a field; kept is its value as long as nobody wrote another.
func (s *fields) field(kind, name, label, kept string) *field {
	d := &field{ID: s.form + "-" + name, Name: name, Label: label, Kind: kind, Type: "text", Value: kept}
	if s.sent == nil {
		return d
	}
	d.refused = true
	if kind == "file" {
		d.Lost = s.sent.sentFile(name)
	} else if written, has := s.sent.r.PostForm[name]; has && len(written) > 0 {
		d.Value = written[0]
		if s.sent.stale && s.sent.text(name) != kept {
			d.Theirs = kept
			if kept == "" {
				d.Theirs = "nothing"
			}
		}
	}
	for _, one := range s.sent.faults {
		if one.Field == name {
			d.Fault = one.Text
			d.Focus, s.focused = !s.focused, true
		}
	}
	return d
}

// Text is a line of text.
func (s *fields) Text(name, label, kept string) *field { return s.field("input", name, label, kept) }

// Number is a number with decimals.
func (s *fields) Number(name, label, kept string) *field {
	d := s.field("input", name, label, kept)
	d.Mode = "decimal"
	return d
}

// Whole is a whole number.
func (s *fields) Whole(name, label, kept string) *field {
	d := s.field("input", name, label, kept)
	d.Mode = "numeric"
	return d
}

// Day is a day. One that is none is shown as it was typed, which a field for days
// could not.
func (s *fields) Day(name, label, kept string) *field {
	d := s.field("input", name, label, kept)
	if d.Fault == "" {
		d.Type = "date"
	}
	return d
}

// Area is text of several lines.
func (s *fields) Area(name, label, kept string, rows int) *field {
	d := s.field("area", name, label, kept)
	d.Rows = rows
	return d
}

// Select is a choice of one.
func (s *fields) Select(name, label, kept string, of []choice) *field {
	d := s.field("select", name, label, kept)
	d.Choices = of
	return d
}

// File is a file of the reader's machine.
func (s *fields) File(name, label string) *field { return s.field("file", name, label, "") }

// Has reports whether a box of this value is ticked.
func (s *fields) Has(name, value string) bool {
	return s.sent != nil && slices.Contains(s.sent.r.PostForm[name], value)
}

// Since is what a hidden field says of the record as it was when the page was made,
// so that who was faster wins. Once that is said, it is the record as it is now.
func (s *fields) Since(name string, now any) string {
	if s.sent != nil && !s.sent.stale {
		return s.sent.text(name)
	}
	return fmt.Sprint(now)
}

// ofField are what a template says of a field beyond its name, label and value:
// {{template "field" $f.Text "base" "Base" "" | wide | such "E27"}}.
var ofField = template.FuncMap{
	"wide":   func(d *field) *field { d.Long = true; return d },
	"needed": func(d *field) *field { d.Must = true; return d },
	// first takes the focus when the page opens, unless a field at fault does.
	"first":  func(d *field) *field { d.Focus = d.Focus || !d.refused; return d },
	"most":   func(characters int, d *field) *field { d.Most = characters; return d },
	"such":   func(example string, d *field) *field { d.Hint = example; return d },
	"taking": func(files string, d *field) *field { d.Accept = files; return d },
	// among suggests what could be written.
	"among": func(suggestions []string, d *field) *field {
		for _, s := range suggestions {
			d.Choices = append(d.Choices, choice{s, s})
		}
		return d
	},
	"list": func(all ...string) []string { return all },
}

// DescribedBy names the sentences below the field.
func (d *field) DescribedBy() string {
	ids := ""
	for _, one := range []struct{ text, id string }{{d.Fault, "fault"}, {d.Theirs, "theirs"}, {d.Lost, "lost"}} {
		if one.text != "" {
			if ids != "" {
				ids += " "
			}
			ids += d.ID + "-" + one.id
		}
	}
	return ids
}

// problems is what stands at the top of a page whose form could not be taken.
type problems struct {
	Head    string
	Faults  []problem
	Focused bool // a field takes the focus
}

// problem is one fault, with the field's place in the page; "" for none.
type problem struct{ Href, Text string }

// Problems lists what is wrong, nil where nothing is. It may be asked of nil.
func (f *form) Problems() *problems {
	if f == nil || len(f.faults) == 0 {
		return nil
	}
	p := &problems{Head: "Nothing was kept. What you wrote is still here:"}
	if f.stale {
		p.Head = "Nothing was kept. What you wrote is still here, with what is kept by now below it where it differs. Send it again to put yours in its place:"
	}
	for _, one := range f.faults {
		href := ""
		if one.Field != "" {
			href, p.Focused = "#"+f.name+"-"+one.Field, true
		}
		p.Faults = append(p.Faults, problem{href, one.Text})
	}
	return p
}
