package sheet

import (
	"slices"
	"strings"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/light/colorimetry"
	"lampassay/publish/figure"
)

// sheetView is everything the template of one sheet prints.
type sheetView struct {
	frame
	Name, Note          string
	Own                 string // the lamp's own colour, for a rule
	MarkLight, MarkDark string // the same, legible on either ground
	Strips              []sized
	From, To            string // the covered range
	Keys                []key
	Pictures            []section
	Emission            *emissionView // after the first section
	Sure                *surenessView // nil where uncertainties were not evaluated
	Groups              []group
	Findings            []assay.Finding
	Warnings            []string
	Reading             []string
	Input               assay.Input
	Sources             string
}

// key is one of the figures in the head.
type key struct {
	Label, Value, Unit string
	Plus               string   // the uncertainty with its unit, where it is known
	Beside             []string // lines beneath: what belongs to it
	Outside            bool
	Why                string
}

func newSheet(l *Lamp, o Options) (*sheetView, error) {
	wide, err := strip(l, 1152, 72)
	if err != nil {
		return nil, err
	}
	narrow, err := strip(l, figure.Narrow, 48)
	if err != nil {
		return nil, err
	}
	pictures, err := sectionsOf(l)
	if err != nil {
		return nil, err
	}
	makes, err := newEmission(l)
	if err != nil {
		return nil, err
	}
	own := ownColour(l.Result)
	light, dark := ground()
	return &sheetView{
		frame: newFrame(l.name(), o),
		Name:  l.name(), Note: l.Note,
		Own: colorimetry.Hex(own), MarkLight: colorimetry.Hex(legible(own, light)), MarkDark: colorimetry.Hex(legible(own, dark)),
		Strips: []sized{{"for-wide", wide}, {"for-narrow", narrow}}, From: nm(l.Result.From), To: nm(l.Result.To),
		Keys: keysOf(l), Pictures: pictures, Emission: makes,
		Groups: newGroups(l), Sure: newSureness(l.Result),
		Findings: l.Result.Findings(),
		Warnings: sentences(slices.Concat(l.Warnings, l.Result.Warnings())),
		Reading:  l.Reading, Input: l.Input,
		Sources: citedBy(l.Result),
	}, nil
}

// keysOf returns the six figures of the head: light, power, what one gets for
// the other, colour, and the two rendition scales.
func keysOf(l *Lamp) []key {
	r := l.Result
	power, efficacy, end := quantity.Power, quantity.LuminousEfficacy, ""
	switch {
	case r.Given.Power.Known:
		end = "at the mains"
	case r.Given.PowerLamp.Known:
		power, efficacy, end = quantity.PowerLamp, quantity.LampEfficacy, "at the lamp"
	}
	keys := []key{
		newKey(l, quantity.LuminousFlux, "Luminous flux"),
		newKey(l, power, "Power", end),
		newKey(l, efficacy, "Efficacy", also(r, quantity.LER, "its spectrum allows ")),
		newKey(l, quantity.CCT, "Colour temperature", also(r, quantity.Duv, "Duv ")),
		newKey(l, quantity.Ra, "Colour rendering Ra", also(r, quantity.R(9), "R9 ")),
		newKey(l, quantity.Rf, "Colour fidelity Rf", also(r, quantity.Rg, "Rg ")),
	}
	for i := len(keys) - 1; i > 0; i-- {
		if keys[i].Why != "" && keys[i].Why == keys[i-1].Why {
			keys[i].Why = "for the same reason"
		}
	}
	return keys
}

func newKey(l *Lamp, id quantity.ID, label string, beside ...string) key {
	shown := l.Result.Reading(id)
	k := key{Label: label, Value: shown.Value, Plus: shown.Sureness()}
	if _, ok := l.Result.Value(id); ok {
		k.Unit = unit(quantity.Get(id))
		k.Outside = !l.Result.InScope(id)
	}
	k.Why = l.Result.Why(id)
	if k.Plus != "" {
		k.Plus = withUnit(k.Plus, k.Unit)
	}
	for _, line := range beside {
		if line != "" {
			k.Beside = append(k.Beside, line)
		}
	}
	if d := l.declared(id); d != "" {
		k.Beside = append(k.Beside, "declared "+d)
	}
	return k
}

// also returns a second quantity as a line beneath a key figure, "" where it
// has no value.
func also(r *assay.Result, id quantity.ID, before string) string {
	if _, ok := r.Value(id); !ok {
		return ""
	}
	shown := r.Reading(id)
	value := shown.Value
	switch {
	case shown.Plus != "":
		value += " " + strings.Replace(shown.Plus, " ", "\u00a0", 1)
	case shown.Interval != "":
		value += " (" + shown.Interval + ")"
	}
	return before + withUnit(value, unit(quantity.Get(id)))
}

// citation collects publications, each once, in the order they come.
type citation []string

// add takes a source of the register, which may be several.
func (c *citation) add(source string) {
	for _, s := range strings.Split(source, "; ") {
		if s != "measured" && !slices.Contains(*c, s) {
			*c = append(*c, s)
		}
	}
}

func (c citation) String() string { return strings.Join(c, "; ") }

// citedBy lists the sources of the quantities that have a value.
func citedBy(r *assay.Result) string {
	var c citation
	for _, d := range quantity.All() {
		if _, ok := r.Value(d.ID); ok {
			c.add(d.Source)
		}
	}
	return c.String()
}

// sentence makes a sentence of a clause: a capital and a full stop, where the
// clause begins with a letter of the alphabet and has no stop yet.
func sentence(clause string) string {
	if clause == "" {
		return ""
	}
	if c := clause[0]; c >= 'a' && c <= 'z' {
		clause = string(c-'a'+'A') + clause[1:]
	}
	if !strings.HasSuffix(clause, ".") {
		clause += "."
	}
	return clause
}

func sentences(clauses []string) []string {
	out := make([]string, len(clauses))
	for i, c := range clauses {
		out[i] = sentence(c)
	}
	return out
}
