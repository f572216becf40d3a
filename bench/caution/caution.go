// Package caution says what to beware of with a lamp, told from the words that are
// written down about it.
//
// The cautions are in our own words, from general knowledge of the trade, for people
// who measure lamps and neither open them nor alter their gear. They are reminders
// and no training: local codes and licensed people come first, and no list here says
// that a lamp or a set-up is safe. Where words leave open what a lamp is, the list
// is that of the worst it could be; a word too many costs a line, one too few may
// cost an eye.
package caution

import (
	"slices"

	"lampassay/bench/notebook"
)

// Trait is one thing about a lamp that can hurt, and what comes of it.
type Trait uint32

// The traits. What runs on the mains needs none: that caution is always given.
const (
	Unknown     Trait = 1 << iota // its kind cannot be told from the words
	ColdPress                     // it is under high pressure also when it is cold
	Ultraviolet                   // it is made to give ultraviolet, or bare enough to
	Gear                          // it needs its own gear
	Ignitor                       // it is started by pulses of thousands of volts
	HighVoltage                   // it runs on hundreds or thousands of volts
	Sodium                        // it holds metallic sodium
	Pressure                      // it runs under high pressure, and can burst
	OuterBulb                     // its outer bulb holds back short-wave ultraviolet
	Heat                          // it stays hot enough to burn for minutes
	Mercury                       // it holds mercury
	Restrike                      // it does not start again until it has cooled
	Laser                         // it is a beam of laser light, or driven by one
	Glare                         // it is too bright to look into
	Flashing                      // it flashes, or may flicker
	Capacitor                     // a capacitor beside it may stay charged
	Old                           // its gear may be of harmful materials
)

// Has reports whether all the traits of t are among these.
func (all Trait) Has(t Trait) bool { return all&t == t }

// Caution is a warning in plain words: what, and why.
type Caution struct{ What, Why string }

// Advice is what to know of a kind of lamp before it is switched on.
type Advice struct {
	Name     string // of the kind; "unknown" where it cannot be told
	Traits   Trait
	Cautions []Caution // the one on mains first, then as the traits are listed
	WarmUp   string    // what a sitting has to wait for: common practice, without a source
}

// Of gives the advice for a lamp, from all that is written about what it is.
func Of(l *notebook.Lamp) *Advice {
	return For(l.Technology, l.Model, l.Gear, l.Base, l.Name, l.Maker)
}

// For gives the advice for a lamp of this technology, of which these other things are
// written. It is named after the first kind in the table that the words tell of; the
// traits are those of all of them together.
func For(technology string, more ...string) *Advice {
	said := texts{wordsOf(technology)}
	for _, text := range more {
		said = append(said, wordsOf(text))
	}
	a := &Advice{Name: "unknown", WarmUp: "Let it warm up until light and power stand still"}
	known := false
	for i := range kinds {
		k := &kinds[i]
		if !said.tell(k) {
			continue
		}
		a.Traits |= k.traits
		if k.name != "" && !known {
			a.Name, a.WarmUp, known = k.name, k.warmUp, true
		}
	}
	if !known {
		a.Traits |= cannotBeExcluded
	}
	a.Cautions = cautionsFor(a.Traits)
	return a
}

// Names lists the kinds as they may be written for a lamp's technology.
func Names() []string {
	var all []string
	for i := range kinds {
		if name := kinds[i].name; name != "" && !slices.Contains(all, name) {
			all = append(all, name)
		}
	}
	return all
}

// cannotBeExcluded are the traits of a lamp of which nothing is known. Cold pressure
// and lasers are left out: no bulb of the household has them, and who has one knows.
const cannotBeExcluded = Unknown | Ultraviolet | Gear | Ignitor | Sodium | Pressure | Heat | Mercury | Restrike | Glare | Flashing

// mains is given for every lamp.
var mains = Caution{"Unplug before you change anything", "Use a finished, enclosed lampholder behind a residual-current device, and have somebody within call. If mains wiring or opened gear is needed and you are not licensed for it where you live, have it done by who is."}

// warnings give each trait its caution, the gravest first.
var warnings = []struct {
	of, unless Trait
	caution    Caution
}{
	{Unknown, 0, Caution{"Find out what it is", "Its kind cannot be told from what is written down, so these are the cautions for the worst that it could be. Leave unknown lamps and gear off until somebody who knows them has looked."}},
	{ColdPress, 0, Caution{"Under pressure even when cold", "Leave short-arc lamps to trained people with face shields and a housing made for them."}},
	{Ultraviolet, 0, Caution{"Ultraviolet without a warning", "It needs an enclosure, eyewear and clothing made for its wavelengths, for everybody in the room. Harm shows hours later, and “it is not bright” proves nothing."}},
	{Gear, 0, Caution{"Only on its own gear, with the covers shut", "Never run a discharge lamp straight from the mains or on another’s ballast: the current runs away and the lamp can burst. Capacitors in the gear may stay charged after it is switched off."}},
	{Ignitor, 0, Caution{"Hands and probes off while it starts", "An ignitor gives thousands of volts, and goes on pulsing into a lamp that is empty or failed."}},
	{HighVoltage, 0, Caution{"High voltage for as long as it is on", "Its supply gives hundreds or thousands of volts. Touch no lead, and connect no probe."}},
	{Sodium, 0, Caution{"It holds metallic sodium", "Sodium reacts violently with water. Keep a broken tube dry, do not rinse it, use no water on a fire, and ask the waste authority."}},
	{Pressure, 0, Caution{"It can burst", "Its inner bulb runs at high pressure. Do not touch quartz with bare fingers, keep to the voltage, use no scratched or bulged lamp, and stand behind a closed fixture or wear eye protection."}},
	{OuterBulb, 0, Caution{"Never with a cracked outer bulb", "It may burn on and give short-wave ultraviolet that harms skin and eyes. Switch off, leave, let it cool, discard it."}},
	{Heat, 0, Caution{"Hot for many minutes", "Keep fabric, foam and paper away, never close it into a box or a foam sphere without air, and let it cool for at least ten minutes before you touch it."}},
	{Mercury, 0, Caution{"It holds mercury, or may", "If it breaks: people and pets out, air the room, scoop with stiff card and tape, do not vacuum first, seal it in a jar, and ask the waste authority."}},
	{Restrike, 0, Caution{"Do not restrike it hot", "Wait until it has cooled, and keep another light on meanwhile: a dark room is a fall waiting."}},
	{Laser, 0, Caution{"Laser light", "Never look along the beam. End it on a dull surface, take shiny things out of its way, and leave all but low-class, labelled lasers to trained people. Some give infrared that is not seen."}},
	{Glare, 0, Caution{"Do not look into it", "Line it up at a low level or on a card, and keep others out of the beam."}},
	{Flashing, 0, Caution{"Say so before you show flashes", "Flashing light harms people who are sensitive to it."}},
	{Capacitor, Gear, Caution{"Covers stay shut", "A capacitor may hold its charge after it is switched off. Servicing is for a qualified person."}},
	{Old, 0, Caution{"Have old gear looked at first", "Old ballasts may hold PCBs, asbestos or crumbling insulation. Do not power them, or open them, before somebody who knows has inspected them."}},
}

// cautionsFor are the cautions that these traits add up to.
func cautionsFor(t Trait) []Caution {
	all := []Caution{mains}
	for _, w := range warnings {
		if t.Has(w.of) && (w.unless == 0 || !t.Has(w.unless)) {
			all = append(all, w.caution)
		}
	}
	return all
}
