package webapp

import "strings"

// family is a kind of lamp as far as handling goes: what to beware of, and what a
// sitting with it has to wait for.
type family struct {
	Name     string   // as it is offered for a lamp's technology
	words    []string // of which one must be in the technology
	Cautions []caution
	warmUp   string // a line of the checklist
}

// caution is a warning in plain words: what, and why.
type caution struct{ What, Why string }

// The cautions are in our own words, from general knowledge of the trade. They are
// reminders and no training; local rules come first.
var (
	right   = caution{"Only on its own gear", "Never run a discharge lamp straight from the mains or on another’s ballast: the current runs away and the lamp can burst."}
	ignitor = caution{"Hands and probes off while it starts", "An ignitor gives thousands of volts, and goes on pulsing into a lamp that is empty or failed."}
	hot     = caution{"Hot for many minutes", "Keep fabric, foam and paper away, never close it into a box or a foam sphere without air, and let it cool for at least ten minutes before you touch it."}
	mercury = caution{"It holds mercury", "If it breaks: people and pets out, air the room, scoop with stiff card and tape, do not vacuum first, seal it in a jar, and ask the waste authority."}
	outer   = caution{"Never with a cracked outer bulb", "It may burn on and give short-wave ultraviolet that harms skin and eyes. Switch off, leave, let it cool, discard it."}
	sodium  = caution{"It holds metallic sodium", "Sodium reacts violently with water. Keep a broken tube dry, do not rinse it, use no water on a fire, and ask the waste authority."}
	burst   = caution{"It runs at high pressure", "Do not touch the quartz with bare fingers, keep to the voltage, use no scratched or bulged lamp, and stand behind a closed fixture or wear eye protection."}
	again   = caution{"Do not restrike it hot", "Wait until it has cooled, and keep another light on meanwhile: a dark room is a fall waiting."}
	glare   = caution{"Do not look into it", "Line it up at a low level or on a card, and keep others out of the beam."}
	ultra   = caution{"Ultraviolet without a warning", "It needs an enclosure, eyewear and clothing made for it. Harm shows hours later, and “it is not bright” proves nothing."}
	flicker = caution{"Say so before you show flashes", "Flashing light harms people who are sensitive to it."}
	mains   = caution{"Unplug before you change anything", "Use a finished, enclosed lampholder behind a residual-current device. If mains wiring or opened gear is needed and you are not qualified, have an electrician do it."}
	short   = caution{"Under pressure even when cold", "Leave xenon short-arc lamps to trained people with face shields."}
)

// families are looked through in order. Warm-up times are common practice, without
// a source.
var families = []family{
	{"low-pressure sodium", []string{"low-pressure sodium", "sox"}, []caution{mains, right, sodium, again}, "Let it warm up: about fifteen minutes until sodium has taken over from neon"},
	{"high-pressure sodium", []string{"sodium", "son"}, []caution{mains, right, ignitor, hot, mercury}, "Let it warm up: about ten to fifteen minutes"},
	{"metal halide", []string{"metal halide", "halide", "ceramic arc"}, []caution{mains, right, ignitor, outer, burst, again}, "Let it warm up: about fifteen minutes, its colour settles last"},
	{"high-pressure mercury", []string{"mercury"}, []caution{mains, right, outer, mercury, again}, "Let it warm up: about ten minutes"},
	{"germicidal or black light", []string{"germicidal", "uv", "ultraviolet", "black light", "excimer"}, []caution{ultra, mains, mercury, right}, "Let it warm up behind its enclosure"},
	{"compact fluorescent", []string{"compact fluorescent", "cfl"}, []caution{mains, mercury, flicker}, "Let it warm up: up to half an hour where its mercury is bound in an amalgam"},
	{"fluorescent", []string{"fluorescent", "tube", "phosphors"}, []caution{mains, right, mercury, flicker}, "Let it warm up: about fifteen minutes, out of the draught"},
	{"xenon short arc", []string{"xenon", "short arc"}, []caution{short, ignitor, ultra, mains}, "Let it warm up"},
	{"tungsten halogen", []string{"halogen"}, []caution{mains, hot, burst, glare}, "Let it warm up: a few minutes, its housing takes longer"},
	{"incandescent", []string{"incandescent", "filament", "tungsten"}, []caution{mains, hot, glare}, "Let it warm up: a few minutes"},
	{"LED", []string{"led", "light-emitting"}, []caution{mains, glare, flicker}, "Let it warm up: half an hour or more, until its heat sink has settled"},
}

var unknown = family{"unknown", nil, []caution{mains, hot, right, glare}, "Let it warm up until light and power stand still"}

// familyOf finds the family of a technology by its words; LEDs before phosphors,
// which they have too.
func familyOf(technology string) *family {
	text := strings.ToLower(technology)
	if hasWord(text, "led") {
		return &families[len(families)-1]
	}
	for i := range families {
		for _, w := range families[i].words {
			if hasWord(text, w) {
				return &families[i]
			}
		}
	}
	return &unknown
}

// hasWord reports whether words stand in a text and are not part of longer ones.
func hasWord(text, words string) bool {
	letter := func(i int) bool { return i >= 0 && i < len(text) && text[i] >= 'a' && text[i] <= 'z' }
	for at := 0; ; {
		i := strings.Index(text[at:], words)
		if i < 0 {
			return false
		}
		i += at
		if !letter(i-1) && !letter(i+len(words)) {
			return true
		}
		at = i + 1
	}
}

// checklist are the steps of a sitting with a lamp of this family: common practice.
func (f *family) checklist() []string {
	return []string{
		"Read the cautions above, and know where to switch off",
		"Lamp in its burning position, and its distance to the sensor measured",
		"Room dark, nothing bright or shiny in sight of the sensor",
		"Air still and near 25 °C, thermometer out of the beam",
		"Spectrometer: dark taken, no pixel saturated",
		"Light meter: zero checked with the sensor covered",
		f.warmUp,
		"Light and watts read at the same moment",
		"Refit the lamp and read again",
	}
}

// familyNames are what is suggested as a lamp's technology.
func familyNames() []string {
	var names []string
	for i := range families {
		names = append(names, families[i].Name)
	}
	return names
}
