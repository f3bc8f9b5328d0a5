// Package places is the table of where things sit in a fuel system, and of the
// joints there: the word for each, in the languages that a shop types, what kind
// of part goes in, whether fuel wets it, whether it lies in the tank, and what
// stands under pressure. Rules ask it; nobody compares the words themselves.
//
// Start with [Find] for a place that somebody typed, [FindJoint] for a joint,
// and [Place.Wet] and [Shows] for what follows. A word that is none of them is an
// [*UnknownError] with the nearest. What is deliberately absent: threads and
// ends of joints, and any judgement of a car.
package places

import (
	"slices"
	"strconv"
	"strings"
	"sync"

	"feedproof/schema"
)

// Side is the part of the circuit that a place stands in.
type Side string

// Sides.
const (
	Dry     Side = ""        // no fuel
	Suction Side = "suction" // before a pump
	Feed    Side = "feed"    // pump to rail, under pressure
	Return  Side = "return"  // regulator to tank
	Lift    Side = "lift"    // lift pump to surge tank, under low pressure
	Vent    Side = "vent"    // vapour, no pressure
	Tank    Side = "tank"    // the tank's own pressure
)

// Place is a row of the table.
type Place struct {
	Name   string
	Words  []string          // that people type for it, in English and German
	Kinds  []schema.PartKind // that may go in; none for anything
	Side   Side
	Joints []string // that fitting or removing it opens; none: the place itself
	Within string   // the joint behind which it lies in the tank
}

// Wet reports that fuel or its vapour stands in it.
func (p Place) Wet() bool { return p.Side != Dry }

// Liquid reports that liquid fuel stands in it, so that a joint of it leaks under
// pressure; of a vent only vapour comes.
func (p Place) Liquid() bool { return p.Wet() && p.Side != Vent }

// Flange is the joint of what hangs in the tank.
const flange = "hanger flange"

const fitting = schema.PartKind("fitting")

// Table is in the order of the flow, from the tank to the rail and back.
// Source: SAE and ISO practice as in testdata/places.csv, whose rows name
// theirs; the words are common practice.
var Table = []Place{
	{Name: "tank", Words: []string{"fuel tank", "fuel cell", "cell", "tank shell", "kraftstofftank"}, Kinds: []schema.PartKind{"tank"}, Side: Tank, Joints: []string{flange, "filler"}},
	{Name: "filler hose", Words: []string{"filler neck", "filler pipe", "einfüllschlauch", "einfüllstutzen"}, Kinds: []schema.PartKind{schema.PartHose, fitting}, Side: Tank, Joints: []string{"filler"}},
	{Name: "module", Words: []string{"hanger", "pump module", "pump hanger", "in-tank module", "sender unit", "modul", "tankmodul", "halter"}, Kinds: []schema.PartKind{"module"}, Side: Feed, Joints: []string{flange, "module outlet"}},
	{Name: "strainer", Words: []string{"sock", "pump sock", "inlet sock", "pickup sock", "siebfilter", "ansaugsieb"}, Kinds: []schema.PartKind{schema.PartFilter}, Side: Suction, Within: flange},
	{Name: "pump", Words: []string{"fuel pump", "main pump", "in-tank pump", "primary pump", "pumps", "benzinpumpe", "kraftstoffpumpe", "pumpe"}, Kinds: []schema.PartKind{schema.PartPump}, Side: Feed, Joints: []string{"pump inlet", "pump outlet"}, Within: flange},
	{Name: "lift pump", Words: []string{"feeder pump", "transfer pump", "low pressure pump", "förderpumpe", "vorförderpumpe"}, Kinds: []schema.PartKind{schema.PartPump}, Side: Lift, Joints: []string{"lift pump inlet", "lift pump outlet"}, Within: flange},
	{Name: "in-tank hose", Words: []string{"submerged hose", "immersed hose", "hose in the tank", "in-tank line", "line in the tank", "tank hose", "schlauch im tank", "tankschlauch"}, Kinds: []schema.PartKind{schema.PartHose}, Side: Feed, Within: flange},
	{Name: "check valve", Words: []string{"non-return valve", "rückschlagventil"}, Kinds: []schema.PartKind{fitting, "other"}, Side: Feed},
	{Name: "pre-filter", Words: []string{"suction filter", "coarse filter", "vorfilter"}, Kinds: []schema.PartKind{schema.PartFilter}, Side: Suction},
	{Name: "suction line", Words: []string{"suction hose", "saugleitung", "saugschlauch"}, Kinds: []schema.PartKind{schema.PartHose, fitting}, Side: Suction},
	{Name: "filter", Words: []string{"fuel filter", "post-filter", "fine filter", "main filter", "filters", "kraftstofffilter", "feinfilter", "benzinfilter"}, Kinds: []schema.PartKind{schema.PartFilter}, Side: Feed, Joints: []string{"filter inlet", "filter outlet"}},
	{Name: "feed line", Words: []string{"feed hose", "feed", "supply line", "supply hose", "pressure line", "vorlauf", "vorlaufleitung", "druckleitung"}, Kinds: []schema.PartKind{schema.PartHose, fitting}, Side: Feed},
	{Name: "hard line", Words: []string{"hardline", "tube", "steel line", "rigid line", "rohrleitung"}, Kinds: []schema.PartKind{"hose", fitting, "other"}, Side: Feed},
	{Name: "bulkhead", Words: []string{"bulkhead fitting", "bulkhead union", "schottverschraubung"}, Kinds: []schema.PartKind{fitting}, Side: Feed},
	{Name: "y-block", Words: []string{"y", "tee", "t-piece", "y-piece", "splitter", "distribution block", "verteiler", "t-stück", "y-stück"}, Kinds: []schema.PartKind{fitting}, Side: Feed},
	{Name: "rail", Words: []string{"rails", "fuel rail", "fuel rails", "injector rail", "verteilerrohr", "einspritzleiste", "kraftstoffleiste"}, Kinds: []schema.PartKind{schema.PartRail}, Side: Feed, Joints: []string{"rail inlet", "rail outlet"}},
	{Name: "crossover", Words: []string{"crossover line", "crossover hose", "rail link", "verbindungsleitung"}, Kinds: []schema.PartKind{schema.PartHose, fitting}, Side: Feed},
	{Name: "injectors", Words: []string{"injector", "fuel injectors", "injector set", "einspritzventile", "einspritzventil", "einspritzdüsen"}, Kinds: []schema.PartKind{schema.PartInjector}, Side: Feed},
	{Name: "injector seals", Words: []string{"o-ring", "o-rings", "injector o-rings", "injector o-ring", "o-ringe"}, Kinds: []schema.PartKind{"seal"}, Side: Feed},
	{Name: "damper", Words: []string{"pulse damper", "pulsation damper", "dämpfer", "druckdämpfer"}, Kinds: []schema.PartKind{fitting, "other"}, Side: Feed},
	{Name: "ethanol sensor", Words: []string{"flex sensor", "fuel composition sensor", "ethanolsensor"}, Kinds: []schema.PartKind{"sensor"}, Side: Feed},
	{Name: "rail sensor", Words: []string{"pressure sensor", "fuel pressure sensor", "sensor", "temperature sensor", "drucksensor"}, Kinds: []schema.PartKind{"sensor"}, Side: Feed},
	{Name: "gauge port", Words: []string{"service port", "test port", "schrader valve", "messanschluss", "prüfanschluss"}, Kinds: []schema.PartKind{fitting, "other"}, Side: Feed},
	{Name: "regulator", Words: []string{"pressure regulator", "fuel pressure regulator", "fpr", "druckregler", "regler"}, Kinds: []schema.PartKind{schema.PartRegulator}, Side: Feed, Joints: []string{"regulator inlet", "regulator return"}},
	{Name: "regulator seal", Words: []string{"regulator o-ring", "regler o-ring"}, Kinds: []schema.PartKind{"seal"}, Side: Feed, Joints: []string{"regulator inlet"}},
	{Name: "return line", Words: []string{"return hose", "return", "rücklauf", "rücklaufleitung"}, Kinds: []schema.PartKind{schema.PartHose, fitting}, Side: Return},
	{Name: "carburettor", Words: []string{"carburetor", "carb", "carbs", "vergaser"}, Side: Feed, Joints: []string{"carburettor inlet"}},
	{Name: "surge tank", Words: []string{"swirl pot", "swirl tank", "catch tank for fuel", "beruhigungstank"}, Kinds: []schema.PartKind{"tank"}, Side: Lift, Joints: []string{"surge tank outlet", "surge tank inlet"}},
	{Name: "lift line", Words: []string{"lift hose", "förderleitung"}, Kinds: []schema.PartKind{schema.PartHose, fitting}, Side: Lift},
	{Name: "overflow line", Words: []string{"overflow hose", "überlaufleitung"}, Kinds: []schema.PartKind{schema.PartHose, fitting}, Side: Return},
	{Name: "vent", Words: []string{"vent line", "vent hose", "breather", "entlüftung", "entlüftungsleitung"}, Kinds: []schema.PartKind{schema.PartHose, fitting, "other"}, Side: Vent},
	{Name: "rollover valve", Words: []string{"roll-over valve", "überschlagventil", "überrollventil"}, Kinds: []schema.PartKind{fitting, "other"}, Side: Vent},
	{Name: "reference line", Words: []string{"vacuum line", "vacuum hose", "reference hose", "boost reference", "unterdruckschlauch"}, Kinds: []schema.PartKind{schema.PartHose}, Side: Dry},
	{Name: "wiring", Words: []string{"harness", "loom", "wire", "cable", "kabelbaum", "kabel"}, Kinds: []schema.PartKind{"wire", "other"}, Side: Dry},
	{Name: "relay", Words: []string{"pump relay", "relais"}, Kinds: []schema.PartKind{"relay"}, Side: Dry},
	{Name: "fuse", Words: []string{"pump fuse", "sicherung"}, Kinds: []schema.PartKind{"fuse"}, Side: Dry},
	{Name: "cabin line", Words: []string{"line through the cabin", "leitung im innenraum"}, Kinds: []schema.PartKind{schema.PartHose, fitting}, Side: Feed},
}

// Joint is a joint that is opened or tested by itself.
type joint struct {
	name  string
	words []string
}

// joints are those of the table and those that stand beside a place.
var joints = []joint{
	{flange, []string{"tank flange", "module flange", "pump flange", "flange", "hanger", "lock ring", "tank top", "tankflansch", "flansch"}},
	{"filler", []string{"filler cap", "filler neck", "tankdeckel", "einfüllstutzen"}},
	{"module outlet", []string{"feed at the tank", "feed at tank", "feed line at the tank", "hanger outlet", "tank outlet", "vorlauf am tank"}},
	{"module return", []string{"return at the tank", "return at tank", "hanger return"}},
	{"pump inlet", nil}, {"pump outlet", nil}, {"lift pump inlet", nil}, {"lift pump outlet", nil},
	{"filter inlet", []string{"filter in"}}, {"filter outlet", []string{"filter out"}},
	{"rail inlet", []string{"feed at the rail", "feed at rail", "feed line at the rail", "rail feed", "vorlauf an der leiste"}},
	{"rail outlet", []string{"rail end", "rail plug", "return at the rail"}},
	{"regulator inlet", []string{"feed at the regulator"}}, {"regulator return", []string{"return at the regulator", "regulator outlet"}},
	{"surge tank inlet", nil}, {"surge tank outlet", nil}, {"surge tank return", nil}, {"surge tank overflow", nil},
	{"carburettor inlet", []string{"feed at the carburettor", "carb inlet", "float bowl inlet", "vergaseranschluss"}},
	{"tank sump", []string{"drain plug", "sump"}},
	{"joint", []string{"union", "connector", "quick connector", "coupling", "verschraubung", "steckverbinder", "verbindung"}},
}

// UnknownError is a word that is no place or joint, with the nearest.
type UnknownError struct {
	What, Typed string
	Nearest     []string
}

func (e *UnknownError) Error() string {
	return e.What + " " + strconv.Quote(e.Typed) + ": is no " + e.What + " of a fuel system; nearest: " + strings.Join(e.Nearest, ", ")
}

// Find is the place that somebody typed, in any of its words, and its name with
// its number: "fuel pump 2" is pump, "pump 2". The first has none, and there
// may be any number: a saddle tank has two modules. "rail left" is a rail, "rail left".
//
// Errors: *[UnknownError].
func Find(typed string) (Place, string, error) {
	if p, name, ok := look(fold(typed)); ok {
		return p, name, nil
	}
	return Place{}, "", &UnknownError{"place", typed, nearest(typed, placeWords(), func(w string) string { _, name, _ := look(fold(w)); return name })}
}

var foundPlaces sync.Map // folded word -> found

type found struct {
	place Place
	name  string
	ok    bool
}

func look(folded string) (Place, string, bool) {
	f, there := foundPlaces.Load(folded)
	if !there {
		place, name, ok := seek(folded)
		f, _ = foundPlaces.LoadOrStore(folded, found{place, name, ok})
	}
	is := f.(found)
	return is.place, is.name, is.ok
}

func seek(folded string) (Place, string, bool) {
	words, number := split(folded)
	word, side := sided(words)
	i := slices.IndexFunc(Table, func(p Place) bool { return p.called(words) })
	if i >= 0 {
		side = ""
	} else {
		i = slices.IndexFunc(Table, func(p Place) bool { return p.called(word) })
	}
	if i < 0 {
		return Place{}, "", false
	}
	return Table[i], numbered(strings.TrimSpace(Table[i].Name+" "+side), number), true
}

// sides are the words by which one of several is told from another.
var sides = strings.Fields("left right front rear upper lower inner outer near far driver passenger bank side a b links rechts vorn hinten oben unten")

// sided takes the words off the end that say which of several.
func sided(word string) (place, side string) {
	fields := strings.Fields(word)
	n := len(fields)
	for n > 1 && slices.Contains(sides, fields[n-1]) {
		n--
	}
	return strings.Join(fields[:n], " "), strings.Join(fields[n:], " ")
}

// Of is the place of a name that a record holds; none for one that is no place.
func Of(name string) (Place, bool) {
	p, _, ok := look(fold(name))
	return p, ok
}

// FindJoint is the name of a joint that somebody typed: one of the table, a
// place as a whole, or either with words of their own behind, as "bulkhead left".
//
// Errors: *[UnknownError].
func FindJoint(typed string) (string, error) {
	if name, ok := lookJoint(fold(typed)); ok {
		return name, nil
	}
	return "", &UnknownError{"joint", typed, nearest(typed, append(jointWords(), placeWords()...), Joint)}
}

// known keeps what was looked up: a record names the same joints again and again.
var known sync.Map // folded word -> name, empty for one that is none

func lookJoint(word string) (string, bool) {
	if name, ok := known.Load(word); ok {
		return name.(string), name != ""
	}
	name := seekJoint(word)
	known.Store(word, name)
	return name, name != ""
}

func seekJoint(word string) string {
	for _, j := range joints {
		if fold(j.name) == word || slices.ContainsFunc(j.words, func(w string) bool { return fold(w) == word }) {
			return j.name
		}
	}
	if _, name, ok := look(word); ok {
		return name
	}
	if own, rest, ok := begun(word); ok {
		return own + " " + rest
	}
	return ""
}

// Joint is the name of a joint as a record holds it; the words themselves where
// the table does not have them.
func Joint(name string) string {
	if found, ok := lookJoint(fold(name)); ok {
		return found
	}
	return fold(name)
}

// Shows reports that joints which were wiped dry show an opened one to be tight:
// itself, its place, all joints of its place, or for what lies in the tank the
// joint behind which it lies. Names are as [Joint] gives them.
func Shows(dry []string, opened string) bool {
	there := func(name string) bool { return slices.Contains(dry, name) }
	if there(opened) {
		return true
	}
	if p, ok := Of(opened); ok {
		return len(p.Joints) > 0 && !slices.ContainsFunc(p.Joints, func(j string) bool { return !there(j) }) || p.Within != "" && there(p.Within)
	}
	return slices.ContainsFunc(Table, func(p Place) bool { return slices.Contains(p.Joints, opened) && there(p.Name) })
}

// Names reports that a joint is among some, itself or as a joint of its place: a
// leak that was seen is ended by nothing less.
func Names(joints []string, seen string) bool {
	if slices.Contains(joints, seen) {
		return true
	}
	return slices.ContainsFunc(Table, func(p Place) bool { return slices.Contains(p.Joints, seen) && slices.Contains(joints, p.Name) })
}

func (p Place) called(word string) bool {
	return fold(p.Name) == word || slices.ContainsFunc(p.Words, func(w string) bool { return fold(w) == word })
}

// Holds reports that the place is made for a kind of part.
func (p Place) Holds(kind schema.PartKind) bool { return slices.Contains(p.Kinds, kind) }

// anywhere are the kinds of part that belong to what they hold, seal or feed.
var anywhere = []schema.PartKind{fitting, "seal", "wire", "other"}

// Takes reports that a kind of part may go into the place.
func (p Place) Takes(kind schema.PartKind) bool {
	return kind == "" || slices.Contains(anywhere, kind) || len(p.Kinds) == 0 || slices.Contains(p.Kinds, kind)
}

// Taking are the names of the places that a kind of part goes into.
func Taking(kind schema.PartKind) []string {
	var out []string
	for _, p := range Table {
		if slices.Contains(p.Kinds, kind) {
			out = append(out, p.Name)
		}
	}
	return out
}

// begun splits own words off behind a joint or place that is known.
func begun(word string) (known, rest string, ok bool) {
	fields := strings.Fields(word)
	for n := len(fields) - 1; n > 0; n-- {
		head, tail := strings.Join(fields[:n], " "), strings.Join(fields[n:], " ")
		if name, ok := lookJoint(head); ok {
			return name, tail, true
		}
	}
	return "", "", false
}

// fold makes words that are written otherwise the same: case, hyphens, spaces.
func fold(s string) string {
	return strings.Join(strings.Fields(strings.NewReplacer("-", " ", "_", " ", ".", " ").Replace(strings.ToLower(s))), " ")
}

// split takes a number off the end: "pump 2" and "pump2".
func split(word string) (string, int) {
	name := strings.TrimRight(word, "0123456789")
	n, err := strconv.Atoi(word[len(name):])
	if err != nil {
		return word, 1
	}
	return strings.TrimSpace(name), n
}

func numbered(name string, n int) string {
	if n <= 1 {
		return name
	}
	return name + " " + strconv.Itoa(n)
}
