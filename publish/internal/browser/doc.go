// Package browser is what tests of pages share: a headless Chromium that loads a
// page, does what a person would, and tells what was asked of the network and what
// the browser complained of. Only tests import it.
//
// What a page shows comes after a moment, so [Tab.Await] and what is made from it
// wait patiently and fail with what the page said instead; nothing else waits. No
// test is about how long something took.
package browser
