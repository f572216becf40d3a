// Package claims holds what a box says against what was measured.
//
// # Three answers
//
// A [Claim] is a declared value, a [Measured] the measured one with its
// uncertainty, and a [Row] of a tolerance [Table] says how far a regulation lets
// the two be apart. With a lower limit L, the measured value m and its expanded
// uncertainty U (k = 2):
//
//	consistent         m − U ≥ L
//	outside tolerance  m + U < L
//	inconclusive       otherwise: "no conflict found" where m ≥ L,
//	                   "looks low, not proven" where m < L
//
// mirrored for an upper limit, and both for two. In the terms of JCGM 106:2012
// the first is guarded acceptance and the second guarded rejection, both with a
// guard band of U (8.3.2, 8.3.3), so that a verdict about one limit is wrong with a
// probability of at most 2.3 %, and of at most 2.5 % where the ends are those of
// the 95 % interval of draws. [Conformity] is the probability itself (7.2 to 7.4).
//
// A claim without a tolerance is not judged, and a tolerance without a source
// is refused. The tolerances of the regulations are for authorities that take
// the mean of several lamps; one lamp is one lamp, and a [Judgement] always
// carries n, U, the tolerance and its source.
//
// # Tolerances are data
//
// The tables in tables/ are JSON; [ReadTable] takes another country's.
package claims
