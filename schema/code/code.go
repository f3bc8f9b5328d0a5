// Package code lists the words by which a finding says why it is as it is.
//
// They are stable: answers that people gave, other programs and translations
// go by them. Sentences are made of them elsewhere, and may change.
package code

// Code is a short word for the reason of a finding.
type Code string

// What is judged, and how it came out.
const (
	Within       Code = "within"       // the evidence shows it within the limit
	Outside      Code = "outside"      // beyond the limit
	Short        Code = "short"        // less than is needed: flow, margin
	Early        Code = "early"        // before its time
	Late         Code = "late"         // after its time
	Lean         Code = "lean"         // too little fuel for the air
	Rich         Code = "rich"         // too much fuel for the air
	Flat         Code = "flat"         // rises less than it must
	Steep        Code = "steep"        // rises more than it must
	Still        Code = "still"        // does not change where it must
	Never        Code = "never"        // never comes
	Hot          Code = "hot"          // was done hot: not judged
	Dangerous    Code = "dangerous"    // a danger by itself
	Absent       Code = "absent"       // what must be there is not: a fuse, a bond
	Unfit        Code = "unfit"        // not made for this
	Oversized    Code = "oversized"    // a fuse larger than its wire
	Overloaded   Code = "overloaded"   // what it feeds is too much for it
	Weak         Code = "weak"         // lost base pressure in time
	Scattered    Code = "scattered"    // points off their line
	Leaking      Code = "leaking"      // fuel was seen or smelt
	Overflowing  Code = "overflowing"  // a bowl ran over
	Assumed      Code = "assumed"      // shown, with one thing taken for granted
	Backed       Code = "backed"       // outside by itself, and another thing makes up for it
	Unrecorded   Code = "unrecorded"   // it happened, and nobody wrote it up
	Uncovered    Code = "uncovered"    // outside what the data covers
	Incomparable Code = "incomparable" // there is nothing to compare it with
)

// Two facts do not go together, or a fact cannot be.
const (
	Contradicts Code = "contradicts" // two facts that cannot both be true
	Impossible  Code = "impossible"  // a number that cannot be
	Mixed       Code = "mixed"       // a number that fits another unit
	OffScale    Code = "off-scale"   // beyond what its instrument shows
	Finer       Code = "finer"       // written finer than its instrument shows
	Backwards   Code = "backwards"   // runs against the order
	Twice       Code = "twice"       // one thing in two places
	Reused      Code = "reused"      // evidence of another visit or car
	Hasty       Code = "hasty"       // faster than anybody reads
	Rounded     Code = "rounded"     // digits that nobody read off
	Together    Code = "together"    // one person in two places
	Misnamed    Code = "misnamed"    // the other of two names was meant
	Apart       Code = "apart"       // two machines that had not seen each other
	Unreasoned  Code = "unreasoned"  // said not to apply, and not why
	Unplanned   Code = "unplanned"   // not as the plan predicts, or no plan for it
)

// Nothing decides: not proven.
const (
	Missing      Code = "missing"      // nothing was recorded
	Incomplete   Code = "incomplete"   // recorded, and not all of it
	Changed      Code = "changed"      // recorded, and a part changed since
	Unknown      Code = "unknown"      // nobody knows what it is
	Unpapered    Code = "unpapered"    // said, and no paper shows it
	Uncomputed   Code = "uncomputed"   // it cannot be computed
	Unseen       Code = "unseen"       // not seen in the log
	Inconclusive Code = "inconclusive" // a log that proves nothing
	Smooth       Code = "smooth"       // a log stiller than a sensor
	Aliased      Code = "aliased"      // a log too slow to tell
	Brief        Code = "brief"        // shorter than the test must last
	Narrow       Code = "narrow"       // over too small a span
	Unpressured  Code = "unpressured"  // not at pressure
	Numberless   Code = "numberless"   // the reading holds no number
	HoseOn       Code = "hose-on"      // the reference hose was on
	UnderLoad    Code = "under-load"   // it was read under load
	Charging     Code = "charging"     // a battery charger was connected
	NoAir        Code = "no-air"       // the air temperature was not read
	Few          Code = "few"          // fewer readings than there are things
	Ran          Code = "ran"          // pump or engine ran since
	Retested     Code = "retested"     // the system was closed and tested since
	Untested     Code = "untested"     // no leak test since
	Unsigned     Code = "unsigned"     // not proven to be its author's
	Tardy        Code = "tardy"        // a proof written after the act it proves
	Again        Code = "again"        // taken back and recorded again
	Happened     Code = "happened"     // an incident
	Hurt         Code = "hurt"         // an incident in which somebody may have been hurt
	Minor        Code = "minor"        // an incident that says what was done about it
)

// An instrument proves nothing.
const (
	Coarse           Code = "coarse"            // its uncertainty is too large to tell
	Lapsed           Code = "lapsed"            // its calibration had ended
	Uncalibrated     Code = "uncalibrated"      // it has none
	FoundBad         Code = "found-bad"         // it was found bad since
	Unnamed          Code = "unnamed"           // nobody said which
	Unrated          Code = "unrated"           // its accuracy is not known
	Unzeroed         Code = "unzeroed"          // it did not stand at zero
	Unreadable       Code = "unreadable"        // what is written of it cannot be read
	Unbumped         Code = "unbumped"          // a gas meter that was not bump tested that day
	BumpedBefore     Code = "bumped-before"     // a gas meter that was bump tested on another day
	Starved          Code = "starved"           // a gas meter with too little oxygen
	Vapour           Code = "vapour"            // gas where there should be none
	Unread           Code = "unread"            // no reading was made before the act
	Partial          Code = "partial"           // read in one place of two
	EngineRan        Code = "engine-ran"        // the engine ran since
	Unmetered        Code = "unmetered"         // no gas meter is named
	Uncertified      Code = "uncertified"       // no certificate before the act
	Anonymous        Code = "anonymous"         // a certificate of nobody, or that says not how
	Nameless         Code = "nameless"          // a certificate that names no tank
	Untagged         Code = "untagged"          // nobody wrote down which tank it is
	OtherTank        Code = "other-tank"        // a certificate of another tank
	Undated          Code = "undated"           // a certificate without a time
	Afterwards       Code = "afterwards"        // proven after the act
	Old              Code = "old"               // proven too long before the act
	Elsewhere        Code = "elsewhere"         // not read where it was asked
	OxygenUnread     Code = "oxygen-unread"     // oxygen was not read with it
	Oxygen           Code = "oxygen"            // too little or too much oxygen
	Said             Code = "said"              // said, and not read
	Alone            Code = "alone"             // one person where two are asked
	Reopened         Code = "reopened"          // answered before a later opening
	Roughly          Code = "roughly"           // within, by an instrument that is coarse for it
	Beyond           Code = "beyond"            // asked beyond the end of a curve
	Unlogged         Code = "unlogged"          // not in the log
	ReopenedTogether Code = "reopened-together" // answered by two before a later opening
	Unwitnessed      Code = "unwitnessed"       // nothing was recorded of what two people do
	Unmeasured       Code = "unmeasured"        // nobody has read what an instrument shows
	Contested        Code = "contested"         // two machines said what only one can say
	Leaks            Code = "leaks"             // air was seen to come out
	Stranger         Code = "stranger"          // somebody who cannot have done it
	GasUnread        Code = "gas-unread"        // no gas reading was made before the act
)
