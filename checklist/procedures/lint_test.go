package procedures_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"feedproof/checklist/procedures"
)

// tradeRules are the ids of the trade's limits, cautions, cross-checks and
// tests, whether or not each is already a rule, and our own beyond them.
func tradeRules() []string {
	ids := []string{"L01e", "L04a", "L04b", "L04c", "L10b", "L15c", "L31", "L32", "L40", "L41", "L42", "L43", "L44", "L45", "L46", "X29", "X30", "X31", "X32", "X33", "X34", "X35", "X36", "V-06", "V-21"}
	for i := 1; i <= 40; i++ {
		ids = append(ids, fmt.Sprintf("K%02d", i))
		if i <= 30 {
			ids = append(ids, fmt.Sprintf("L%02d", i))
		}
		if i <= 28 {
			ids = append(ids, fmt.Sprintf("X%02d", i))
		}
	}
	return ids
}

func TestLintFindsNothingInTheShippedBook(t *testing.T) {
	for _, problem := range procedures.Lint(shipped(t), tradeRules()) {
		t.Error(problem)
	}
}

// TestLintFindsEachProblem breaks the shipped book in one way at a time; lint
// must say so.
func TestLintFindsEachProblem(t *testing.T) {
	for _, tt := range []struct {
		name  string
		spoil func(*procedures.Book)
		want  string
	}{
		{"step id twice", func(b *procedures.Book) { step(b, "B3").ID = "B4" }, "B4: the id is used twice"},
		{"a step with the id of a caution", func(b *procedures.Book) { step(b, "a1").ID = "K01" }, "K01: the id is used twice"},
		{"no id", func(b *procedures.Book) { step(b, "A1").ID = "" }, "book: something has no id"},
		{"job lost", func(b *procedures.Book) { b.Jobs = b.Jobs[1:] }, "job a: there is none"},
		{"no done_means", func(b *procedures.Book) { b.Jobs[0].Done = " " }, "job a: done_means is missing"},
		{"no choose_when", func(b *procedures.Book) { b.Jobs[1].Choose = "" }, "job b: choose_when is missing"},
		{"unknown block", func(b *procedures.Book) { b.Jobs[0].Blocks = append(b.Jobs[0].Blocks, "Q") }, `job a: block "Q" does not exist`},
		{"unknown caution", func(b *procedures.Book) { b.Jobs[0].Cautions[0] = "K41" }, `job a: caution "K41" does not exist`},
		{"no text", func(b *procedures.Book) { step(b, "A2").Text = "" }, "step A2: text is missing"},
		{"no who", func(b *procedures.Book) { step(b, "A2").Who = "" }, "step A2: who is missing"},
		{"no source", func(b *procedures.Book) { step(b, "c4").Source = "" }, "step c4: source is missing"},
		{"unknown role", func(b *procedures.Book) { step(b, "A2").Who = "foreman" }, `step A2: "foreman" is not a role`},
		{"unknown hold point", func(b *procedures.Book) { step(b, "A2").Point = "HP13" }, `step A2: hold point "HP13" does not exist`},
		{"unknown reading of a step", func(b *procedures.Book) { step(b, "A2").Test = "sniff" }, `step A2: "sniff" is not a reading`},
		{"unknown opening", func(b *procedures.Book) { step(b, "A2").Opens = "door" }, `step A2: opens "door", which is not an opening`},
		{"an opening hidden by a reading", func(b *procedures.Book) { step(b, "B12").Test = "surface" }, "step B12: a reading that does a step must not hide that it opens a joint"},
		{"one reading for two points", func(b *procedures.Book) { step(b, "J4").Test = "gas" }, `step J4: its reading "gas" also does step B3, which is for HP2 and not HP8`},
		{"unknown field", func(b *procedures.Book) { step(b, "A6").When[0].Field = "diesel" }, `step A6: condition on "diesel": not a field`},
		{"an answer that is neither", func(b *procedures.Book) { step(b, "A6").When[0].Is = "maybe" }, `step A6: condition on "injection": "maybe" is neither yes nor no`},
		{"an answer over something", func(b *procedures.Book) {
			step(b, "A6").When[0] = procedures.Condition{Field: "injection", Over: "1 bar"}
		}, `step A6: condition on "injection": a field of type answer is compared by "is"`},
		{"a word nobody may say", func(b *procedures.Book) { step(b, "A6").When[1].Is = "rising" }, `step A6: condition on "regulator": "rising" is not one of referenced, vented, returnless`},
		{"a quantity that is something", func(b *procedures.Book) {
			caution(b, "K25").When[0] = procedures.Condition{Field: "ethanol_max", Is: "10 %"}
		}, `caution K25: condition on "ethanol_max": a quantity is compared by "over"`},
		{"a quantity without a unit", func(b *procedures.Book) { caution(b, "K33").When[0].Over = "0.5" }, `caution K33: condition on "spill": `},
		{"a unit of something else", func(b *procedures.Book) { caution(b, "K16").When[0].Over = "3 L" }, `caution K16: condition on "rail_max": `},
		{"hold point without who", func(b *procedures.Book) { point(b, "HP4").Who = "" }, "hold point HP4: who is missing"},
		{"hold point without what it locks", func(b *procedures.Book) { point(b, "HP4").Before = "" }, "hold point HP4: before is missing"},
		{"unknown reading of a point", func(b *procedures.Book) { point(b, "HP2").Tests[0] = "sniff" }, `hold point HP2: "sniff" is not a reading`},
		{"unknown rule of a point", func(b *procedures.Book) { point(b, "HP0").Rules[0] = "L99" }, `hold point HP0: rule "L99" does not exist`},
		{"unknown event", func(b *procedures.Book) { point(b, "HP5").Reopens[0] = "rain" }, `hold point HP5: "rain" does not re-open a hold point`},
		{"unknown act", func(b *procedures.Book) { point(b, "HP5").Guards = "lunch" }, `hold point HP5: guards "lunch", which is not an act`},
		{"a point that no step leads to", func(b *procedures.Book) {
			for _, block := range b.Blocks {
				for i := range block.Steps {
					if block.Steps[i].Point == "HP12" {
						block.Steps[i].Point = ""
					}
				}
			}
		}, "hold point HP12: nothing leads to it in job a"},
		{"a point that one job cannot reach", func(b *procedures.Book) { dropBlock(b, "h", "P"); step(b, "h3").Point = "" }, "hold point HP1: nothing leads to it in job h"},
		{"no proof", func(b *procedures.Book) { caution(b, "K13").Proof = "" }, "caution K13: proof is missing"},
		{"no proof level", func(b *procedures.Book) { caution(b, "K13").Needs.Level = 0 }, "caution K13: proof level 0 is not 1 to 5"},
		{"done is not proof", func(b *procedures.Book) { caution(b, "K13").Needs.Level = 6 }, "caution K13: proof level 6 is not 1 to 5"},
		{"an instrument without a reading", func(b *procedures.Book) { caution(b, "K05").Needs.Test = "" }, "caution K05: proof level 1 is an instrument reading, and none is named"},
		{"unknown reading of a proof", func(b *procedures.Book) { caution(b, "K05").Needs.Test = "sniff" }, `caution K05: "sniff" is not a reading`},
		{"unknown rule of a proof", func(b *procedures.Book) { caution(b, "K05").Needs.Rule = "K50" }, `caution K05: rule "K50" does not exist`},
		{"anybody may waive", func(b *procedures.Book) { caution(b, "K14").Waive = "anybody" }, `caution K14: waiver "anybody" does not begin with one of: lead; lead + owner; lead + inspector`},
		{"no source of a caution", func(b *procedures.Book) { caution(b, "K14").Source = "" }, "caution K14: source is missing"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			book := copied(t, shipped(t))
			tt.spoil(&book)
			problems := procedures.Lint(book, tradeRules())
			if len(problems) == 0 {
				t.Fatalf("nothing found, want %q", tt.want)
			}
			for _, p := range problems {
				if strings.HasPrefix(p, tt.want) {
					return
				}
			}
			t.Errorf("want %q among\n%s", tt.want, strings.Join(problems, "\n"))
		})
	}
}

func TestLintKnowsOnlyTheRulesItIsGiven(t *testing.T) {
	if len(procedures.Lint(shipped(t), nil)) == 0 {
		t.Error("every rule was taken for known")
	}
}

// copied is a deep copy, so that a spoiled book spoils no other test.
func copied(t *testing.T, book procedures.Book) procedures.Book {
	t.Helper()
	text, err := json.Marshal(book)
	if err != nil {
		t.Fatal(err)
	}
	var out procedures.Book
	if err := json.Unmarshal(text, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

func step(b *procedures.Book, id string) *procedures.Step {
	for _, block := range b.Blocks {
		for i := range block.Steps {
			if block.Steps[i].ID == id {
				return &block.Steps[i]
			}
		}
	}
	for _, job := range b.Jobs {
		for i := range job.Steps {
			if job.Steps[i].ID == id {
				return &job.Steps[i]
			}
		}
	}
	panic("no step " + id)
}

func point(b *procedures.Book, id string) *procedures.Point {
	for i := range b.Points {
		if b.Points[i].ID == id {
			return &b.Points[i]
		}
	}
	panic("no hold point " + id)
}

func caution(b *procedures.Book, id string) *procedures.Caution {
	for i := range b.Cautions {
		if b.Cautions[i].ID == id {
			return &b.Cautions[i]
		}
	}
	panic("no caution " + id)
}

func dropBlock(b *procedures.Book, kind, block string) {
	for i := range b.Jobs {
		if string(b.Jobs[i].Kind) != kind {
			continue
		}
		var kept []string
		for _, id := range b.Jobs[i].Blocks {
			if id != block {
				kept = append(kept, id)
			}
		}
		b.Jobs[i].Blocks = kept
	}
}
