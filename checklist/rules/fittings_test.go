package rules

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// built is a car of parts with typed ends, at the beginning of its first visit.
type built struct {
	t     *testing.T
	parts map[string]schema.PartData
	fits  []schema.FitData
	plan  *schema.PlanData
	at    time.Time

	readings []schema.ReadingData
}

func build(t *testing.T) *built {
	return &built{t: t, parts: map[string]schema.PartData{}, at: epoch}
}

// fit puts a part into a place; what its ends join is written a=place.end, or
// a=plug.
func (b *built) fit(position string, p schema.PartData, joins ...string) *built {
	b.parts["P-"+strings.ReplaceAll(position, " ", "-")] = p
	f := schema.FitData{Position: position, Part: "P-" + strings.ReplaceAll(position, " ", "-")}
	for _, j := range joins {
		end, to, _ := strings.Cut(j, "=")
		to, with, _ := strings.Cut(to, ":")
		place, of, _ := strings.Cut(to, ".")
		if place == "plug" {
			place = ""
		}
		f.Joins = append(f.Joins, schema.Join{End: end, Position: place, Of: of, With: with})
	}
	b.fits = append(b.fits, f)
	return b
}

// ethanol plans the car for a range of ethanol in per cent.
func (b *built) ethanol(least, most string) *built {
	p := planOf("3")
	share := func(x string) schema.Q[quantity.Fraction] {
		return schema.Write[quantity.Fraction](quantity.Written{Value: x, Unit: "%"})
	}
	p.Envelope.EthanolMin, p.Envelope.EthanolMax = share(least), share(most)
	b.plan = &p
	return b
}

func (b *built) judged(rule string) []schema.Finding {
	b.t.Helper()
	r := schema.NewRecord(schema.VehicleRecord, "car")
	add := func(data schema.Data) {
		n := int64(len(r.Entries) + 1)
		after := schema.Heads(r.Entries)
		e, err := schema.NewEntry(schema.Origin{By: "tech-1", Device: "bay-2", Counter: n, After: after, At: b.at.Add(time.Duration(n) * time.Minute), Entered: b.at.Add(time.Duration(n) * time.Minute)}, data)
		if err != nil {
			b.t.Fatal(err)
		}
		r = r.With(e)
	}
	add(visit(schema.OpenVisit, "1", 1))
	if b.plan != nil {
		add(*b.plan)
	}
	for _, f := range b.fits {
		add(f)
	}
	for _, r := range b.readings {
		add(r)
	}
	part := func(id string) (schema.Record, bool) {
		d, ok := b.parts[id]
		e, err := schema.NewEntry(schema.Origin{By: "lead-1", Device: "office", Counter: 1, At: epoch.AddDate(-1, 0, 0), Entered: epoch.AddDate(-1, 0, 0)}, d)
		if err != nil {
			b.t.Fatal(err)
		}
		return schema.NewRecord(schema.PartRecord, id).With(e), ok
	}
	c := state.Fold(state.Told(r), schema.Shop{Part: part}, b.at.AddDate(0, 0, 1))
	found, _ := Find(rule)
	return found.Judge(c)
}

// wants holds the worst of a rule's findings, and that its words say something.
func (b *built) wants(rule string, want schema.Severity, says string) {
	b.t.Helper()
	worst, text := schema.OK, ""
	for _, f := range b.judged(rule) {
		worst = max(worst, f.Severity)
		text += fmt.Sprintf("%s: %s (%s), %s; %s\n", f.About, f.Measured, f.Limit, f.Means, f.Next)
	}
	if worst != want || !strings.Contains(text, says) {
		b.t.Errorf("%s is %s, want %s with %q:\n%s", rule, worst, want, says, text)
	}
	if strings.ContainsAny(text, "{}") {
		b.t.Errorf("%s: words without their value:\n%s", rule, text)
	}
}

func withEnds(ends ...string) schema.PartData {
	p := schema.PartData{Part: "fitting", Name: "part"}
	for _, e := range ends {
		name, end, _ := strings.Cut(e, "=")
		end, bore, bored := strings.Cut(end, "@")
		out := schema.PartEnd{Name: name, End: end}
		if bored {
			out.Bore = schema.Write[quantity.Length](quantity.Written{Value: bore, Unit: "mm"})
		}
		p.Ends = append(p.Ends, out)
	}
	return p
}

// TestEnds: pairs as the table of fittings judges them, open ends, and ends of
// which nothing is known. Sources: checklist/fittings/testdata/fits.csv.
func TestEnds(t *testing.T) {
	pair := func(a, b string) *built {
		return build(t).fit("rail", withEnds("in="+a)).fit("feed line", withEnds("out="+b), "out=rail.in")
	}
	for _, c := range []struct {
		a, b string
		want schema.Severity
		says string
	}{
		{"flare37-m:-8", "flare37-f:-8", schema.OK, ""}, {"flare37-m:-8", "flare45-f:1/2", schema.Block, "37° and 45° seats meet"}, {"orb-p:-8", "flare37-m:-8", schema.Block, "share the thread 3/4-16"},
		{"orb-p:-8", "orb-m:-6", schema.Block, "9/16-18 against 3/4-16"}, {"orb-p:-8", "flare37-f:-8", schema.Hold, "an adapter is missing"}, {"npt-f:1/4", "r-m:1/4", schema.Block, "60° against 55°"},
		{"g-p:1/4", "r-m:1/4", schema.Block, "the taper splits it"}, {"m6149-p:M22x1.5", "gwash-m:1/2", schema.Block, "tears out"}, {"barb:8", "hose:8", schema.OK, ""}, {"barb:8", "hose:10", schema.Hold, "does not fit the stem"},
		{"flare37-m:-8", "flare37-m:-8", schema.Block, "nothing joins them"}, {"qc-f:9.49", "qc-m:9.89", schema.Block, "does not seal"}, {"stub:8", "hose:8", schema.Block, "does not hold"},
		{"flare37-m:-8", "nonsense:-8", schema.Unproven, "not known"},
	} {
		pair(c.a, c.b).wants("L47", c.want, c.says)
	}
	bare := schema.PartData{Part: "other", Name: "part"}
	build(t).wants("L47", schema.OK, "")
	build(t).fit("rail", bare).fit("feed line", bare).wants("L47", schema.Note, "nobody wrote down")
	build(t).fit("rail", bare).fit("feed line", withEnds("out=flare37-f:-8"), "out=rail.in").wants("L47", schema.Unproven, "not known: feed line out on rail in, rail")
	build(t).fit("rail", withEnds("in=flare37-m:-8", "out=orb-p:-8")).fit("feed line", withEnds("out=flare37-f:-8"), "out=rail.in").wants("L47", schema.Block, "out, orb-p:-8, joins nothing")
	build(t).fit("rail", withEnds("in=flare37-m:-8", "out=orb-p:-8"), "out=plug").fit("feed line", withEnds("out=flare37-f:-8"), "out=rail.in").wants("L47", schema.OK, "")
	build(t).fit("rail", withEnds("in=flare37-m:-8", "plug=pin:2")).fit("feed line", withEnds("out=flare37-f:-8"), "out=rail.in").wants("L47", schema.OK, "")
	build(t).fit("feed line", withEnds("out=flare37-f:-8"), "out=rail.in").wants("L47", schema.Unproven, "feed line out on rail in")
	wire := schema.PartData{Part: "wire", Name: "wire"}
	build(t).fit("wiring", wire).fit("rail", withEnds("in=flare37-m:-8")).fit("feed line", withEnds("out=flare37-f:-8"), "out=rail.in").wants("L47", schema.OK, "")
}

// TestSeals: the worst fuel of the envelope. Sources: checklist/fittings/tables/seals.csv.
func TestSeals(t *testing.T) {
	for _, c := range []struct {
		compound, least, most string
		want                  schema.Severity
	}{
		{"FKM", "0", "85", schema.OK}, {"NBR", "0", "10", schema.Flag}, {"EPDM", "70", "85", schema.Block}, {"VMQ", "0", "5", schema.Block}, {"HNBR", "0", "4", schema.Flag}, {"HNBR", "0", "10", schema.Block}, {"HNBR", "70", "85", schema.Flag},
		{"CR", "0", "4", schema.Block}, {"FVMQ", "0", "85", schema.OK}, {"unknown", "0", "10", schema.Unproven}, {"", "0", "10", schema.Unproven},
	} {
		p := withEnds("in=orb-m:-8")
		p.Seal = c.compound
		build(t).ethanol(c.least, c.most).fit("rail", p).wants("L48", c.want, "")
	}
	build(t).ethanol("0", "85").fit("feed line", withEnds("in=flare37-f:-8")).wants("L48", schema.OK, "")
	build(t).fit("rail", withEnds("in=orb-m:-8")).wants("L48", schema.OK, "") // no plan, no fuel
}

func hoseOf(kind string, more ...string) schema.PartData {
	p := schema.PartData{Part: schema.PartHose, Name: "hose", Hose: &schema.HoseData{Kind: kind}}
	for _, m := range more {
		name, value, _ := strings.Cut(m, "=")
		switch name {
		case "date":
			p.Hose.DateCode = value
		case "working":
			p.Hose.WorkingPressure = schema.Write[quantity.Gauge](quantity.Written{Value: value, Unit: "bar"})
		case "submersible":
			p.Hose.Submersible = schema.Answer(value)
		case "paper":
			p.Ethanol, p.Papers = schema.Yes, value
		}
	}
	return p
}

// TestHoseKinds: kinds of hose against fuel, place and age. Sources:
// checklist/fittings/tables/hoses.csv; age: shop rule, 5 years at fitting.
func TestHoseKinds(t *testing.T) {
	for _, c := range []struct {
		position string
		hose     schema.PartData
		least    string
		most     string
		want     schema.Severity
	}{
		{"feed line", hoseOf("J30R9"), "0", "10", schema.OK}, {"feed line", hoseOf("J30R9"), "0", "85", schema.Hold}, {"feed line", hoseOf("J30R9", "paper=sheet 3"), "0", "85", schema.OK},
		{"in tank hose", hoseOf("J30R9"), "0", "10", schema.Block}, {"in-tank hose", hoseOf("J30R9"), "0", "10", schema.Block}, {"in tank hose", hoseOf("J30R9", "submersible=yes"), "0", "10", schema.OK}, {"in tank hose", hoseOf("J30R10"), "0", "10", schema.OK},
		{"feed line", hoseOf("J30R7"), "0", "85", schema.Block}, {"feed line", hoseOf("J30R7", "paper=sheet 3"), "0", "85", schema.Block}, {"feed line", hoseOf("J30R13"), "0", "0", schema.Block}, {"return line", hoseOf("VMQ"), "0", "0", schema.Block},
		{"feed line", hoseOf("PTFE-N"), "0", "10", schema.Block}, {"feed line", hoseOf("PTFE-C"), "0", "85", schema.OK}, {"feed line", hoseOf("NBR-B"), "0", "10", schema.Block}, {"feed line", hoseOf("NBR-B"), "0", "4", schema.OK},
		{"feed line", hoseOf(""), "0", "85", schema.OK}, {"feed line", hoseOf("PTFE-C", "date=2010"), "0", "10", schema.OK},
	} {
		build(t).ethanol(c.least, c.most).fit(c.position, c.hose).wants("L49", c.want, "")
	}
	for date, want := range map[string]schema.Severity{"2021-03": schema.OK, "2021-02": schema.Flag, "2019": schema.Flag, "1Q21": schema.Flag, "2Q21": schema.OK, "nobody knows": schema.OK} {
		build(t).fit("feed line", hoseOf("", "date="+date)).wants("L49", want, "")
	}
	b := build(t).fit("feed line", hoseOf("J30R9", "date=2019-04"))
	b.at = time.Date(2025, 6, 15, 9, 0, 0, 0, time.UTC)
	b.wants("L49", schema.Flag, "6.2 years") // FC133
	clamped := func(position, clamp string) *built {
		p := hoseOf("J30R9")
		p.Ends = withEnds("in=hose:8").Ends
		return build(t).fit("filter", withEnds("out=barb:8")).fit(position, p, "in=filter.out:"+clamp)
	}
	clamped("feed line", "worm clamp").wants("L49", schema.Hold, "cuts the hose")
	clamped("feed line", "ear clamp").wants("L49", schema.OK, "")
	clamped("vent line", "worm clamp").wants("L49", schema.OK, "")
	connected := func(base string, more ...string) *built {
		p := hoseOf("J2260", more...)
		p.Ends = withEnds("in=qc-f:7.89").Ends
		b := build(t).ethanol("0", "10").fit("module", withEnds("out=qc-m:7.89")).fit("feed line", p, "in=module.out")
		b.plan.Regulator = &schema.RegulatorPlan{Kind: schema.Returnless, Base: schema.Write[quantity.Difference](quantity.Written{Value: base, Unit: "bar"})}
		b.plan.Envelope.Manifold = schema.Write[quantity.Absolute](quantity.Written{Value: "100", Unit: "kPa abs"})
		return b
	}
	connected("5.5").wants("L49", schema.Hold, "scope of SAE J2044") // FC104
	connected("5").wants("L49", schema.OK, "")
	connected("5.5", "working=10").wants("L49", schema.OK, "")
}

// TestHosesByTheirStandard: where only the kind is known the lower number of its
// standard counts and says so; the print of the maker wins.
func TestHosesByTheirStandard(t *testing.T) {
	hose := func(kind string, more ...string) *built {
		b := build(t).ethanol("0", "10").fit("feed line", hoseOf(kind, more...))
		b.plan.Regulator.Kind = schema.Returnless
		b.plan.Envelope.Manifold = schema.Write[quantity.Absolute](quantity.Written{Value: "100", Unit: "kPa abs"})
		return b
	}
	hose("J30R9").wants("L27", schema.OK, "by the standard of J30R9 alone")
	hose("J30R7").wants("L27", schema.Block, "3.40 bar")
	hose("J2260").wants("L27", schema.Flag, "4.50 bar")
	hose("J30R7", "working=10").wants("L27", schema.OK, "10.00 bar")
	hose("D73379").wants("L27", schema.Unproven, "")
	hose("").wants("L27", schema.Unproven, "")
}

// TestBores: a part of less than 0.7 of its narrowest neighbour. Source: common
// practice; FC086.
func TestBores(t *testing.T) {
	for bore, want := range map[string]schema.Severity{"4.4": schema.Flag, "6.9": schema.Flag, "6.93": schema.OK, "9.9": schema.OK} {
		build(t).fit("rail", withEnds("in=flare37-f:-8@9.9")).fit("filter", withEnds("out=flare37-f:-8@9.9")).
			fit("feed line", withEnds("in=flare37-m:-8@"+bore, "out=flare37-m:-8"), "in=filter.out", "out=rail.in").wants("L50", want, "")
	}
	found := build(t).fit("rail", withEnds("in=flare37-f:-8@9.9")).fit("feed line", withEnds("out=flare37-m:-8@4.4"), "out=rail.in").judged("L50")
	if i := slices.IndexFunc(found, func(f schema.Finding) bool { return f.Severity == schema.Flag }); i < 0 || !strings.Contains(found[i].Measured, "0.44") {
		t.Errorf("a ratio of 0.44: %v", found)
	}
	build(t).fit("rail", withEnds("in=flare37-f:-8")).fit("feed line", withEnds("out=flare37-m:-8@4.4"), "out=rail.in").wants("L50", schema.OK, "")
}

// TestFineness: 40 um before the pump, 12 um after it: makers' practice; FC112.
func TestFineness(t *testing.T) {
	filter := func(um string, stands schema.FilterPlace) schema.PartData {
		d := &schema.FilterData{Stands: stands}
		if um != "" {
			d.Fineness = schema.Write[quantity.Length](quantity.Written{Value: um, Unit: "um"})
		}
		return schema.PartData{Part: schema.PartFilter, Name: "filter", Filter: d}
	}
	build(t).fit("pre filter", filter("40", "")).wants("L51", schema.OK, "")
	build(t).fit("pre filter", filter("39", "")).wants("L51", schema.Hold, "starves")
	build(t).fit("strainer", filter("10", "")).wants("L51", schema.Hold, "starves")
	build(t).fit("strainer", filter("100", "")).fit("filter", filter("100", "")).wants("L51", schema.Hold, "keeps grains")
	build(t).fit("filter", filter("12", "")).wants("L51", schema.OK, "")
	build(t).fit("filter", filter("12.5", "")).wants("L51", schema.Hold, "")
	build(t).fit("filter", filter("100", "")).fit("filter 2", filter("10", "")).wants("L51", schema.OK, "")
	build(t).fit("filter", filter("", "")).wants("L51", schema.OK, "")
	build(t).fit("pre filter", filter("", schema.AfterPump)).wants("L51", schema.Hold, "made to stand after the pump")
	build(t).fit("filter", filter("100", schema.BeforePump)).wants("L51", schema.Hold, "made to stand before the pump")
}

// TestStuds: the current that was read against what the maker says, else the
// screen. Source: computed, checklist/fittings/tables/studs.csv.
func TestStuds(t *testing.T) {
	stud := func(rating, metal string) *built {
		p := withEnds("a=stud:M6")
		p.Stud = &schema.StudData{Metal: metal}
		if rating != "" {
			p.Stud.Rating = schema.Write[quantity.Current](quantity.Written{Value: rating, Unit: "A"})
		}
		b := build(t).ethanol("0", "10").fit("module", p)
		b.readings = append(b.readings, reading("supply", schema.Value{Name: "source", Value: "13.9", Unit: "V"}, schema.Value{Name: "pump", Value: "13.5", Unit: "V"}, schema.Value{Name: "current", Value: "15", Unit: "A"}))
		return b
	}
	stud("", "copper").wants("L52", schema.OK, "98.5 A for M6 of copper")
	stud("", "brass").wants("L52", schema.OK, "")
	stud("", "steel").wants("L52", schema.Hold, "12.1 A")
	stud("", "stainless").wants("L52", schema.Hold, "")
	stud("30", "stainless").wants("L52", schema.OK, "as its maker says")
	stud("15", "").wants("L52", schema.OK, "")
	stud("14", "copper").wants("L52", schema.Hold, "")
	stud("", "").wants("L52", schema.Unproven, "nobody knows")
	b := stud("", "steel")
	b.readings = nil
	b.wants("L52", schema.OK, "") // no current is known
}
