// Package comparison sets lamps side by side without claiming more than their
// uncertainties allow.
//
// # What two lamps share
//
// Two lamps measured on one rig share the light meter, the distance and the
// scale of the power meter. An error of any of these moves both figures alike
// and leaves their ratio where it was. Spectral mismatch and self-absorption
// do not: each lamp has its own. So a [Figure] is a value with named causes of
// its uncertainty, and a cause of the same name in two figures is one cause,
// fully correlated, unless it is marked as the lamp's own:
//
//	a := comparison.Figure{Lamp: "A", Value: 806, Causes: []comparison.Cause{
//		{Name: "light meter scale", U: 20}, {Name: "spectral mismatch", U: 24, Own: true}}}
//
// Covariances follow from the causes (JCGM 100:2008 5.2.2 and F.1.2.3), and
// from them the ratio and the difference of any two lamps. Figures whose
// inputs were drawn together (see [Joint]) are compared draw by draw instead
// (JCGM 101:2008).
//
// # Groups, not a false order
//
// Two lamps are told apart when the coverage interval of their ratio, or of
// their difference for quantities without a natural zero, leaves out 1 or 0.
// [Rank] lists lamps by falling value and gives letters: lamps that share a
// letter can't be told apart. "Can't be told apart" is not passed on: A may not
// be told from B, nor B from C, and A yet be told from C. Then B carries two
// letters, and the ranking says so. A value that is not defined, or outside its
// method's scope, has no rank.
package comparison
