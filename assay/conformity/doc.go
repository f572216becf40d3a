// Package conformity holds rules of law and what measured figures say under
// them.
//
// # Rules are data
//
// A regulation is a file: its name, region, the dates between which it applies,
// and whichever of its rules a bench can judge, each with its clause. Three of
// the European Union are carried (the folder rules); [Rules.Add] reads more, so
// that another country's need no program. A file is checked against the schema
// before any of it counts: unknown keys, classes out of order, dates that are
// none, a limit on a figure that nobody knows.
//
//	rules := conformity.Builtin()
//	findings := rules.Judge(&conformity.Lamp{...}, "2022-05-01")
//
// A rule is found by the day the lamp was placed on the market. Without a day
// the rules are those that have no end.
//
// # What a finding is
//
// Arithmetic on what was measured. One lamp is one lamp, a bench is not a market
// surveillance laboratory, the tolerances of verification are for authorities
// and are not used here, and nothing here is legal advice.
package conformity
