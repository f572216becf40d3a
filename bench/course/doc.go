// Package course follows the numbers of a sitting over time: for a page that draws
// them as they come, and for a verdict on the lamp's run-up.
//
// Readings are only ever added to a sitting, so a [Record] reads each of them once
// and keeps its numbers in memory; what was set aside since is left out whenever a
// [Course] is asked for, and comes back when somebody takes that back. Time begins
// at the first reading that counts: a reading with a clock that was wrong, once set
// aside, moves nothing.
//
// The numbers of one line have one unit, that of its first. Another is brought to it
// where [notebook.Value.In] can; what cannot be is left out and named.
package course
