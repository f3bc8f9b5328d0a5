package rules

import (
	"maps"
	"math"
	"slices"
	"strconv"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// amount is a quantity by name, in the usual unit of its kind.
func amount[Q quantity.Quantity](name string, q Q) schema.Amount {
	unit := usual(q)
	return schema.Amount{Name: name, Value: figures(quantity.In(q, unit)), Unit: quantity.Write(q, unit, 0).Unit}
}

// asPrinted is amount with the decimals that people see.
func asPrinted[Q quantity.Quantity](name string, q Q) schema.Amount {
	w, err := quantity.Read(quantity.Text(q))
	if err != nil {
		return amount(name, q)
	}
	return schema.Amount{Name: name, Value: w.Value, Unit: w.Unit}
}

// asRead is an amount that was read, with its uncertainty.
func asRead[Q quantity.Quantity](name string, m measured[Q]) schema.Amount {
	a := amount(name, m.value)
	if unit := usual(m.value); m.u > 0 {
		a.U = figures(math.Abs(quantity.In(m.value+m.u, unit) - quantity.In(m.value, unit)))
	}
	return a
}

// give is an amount that was computed, with its uncertainty in SI.
func give[Q quantity.Quantity](name string, q Q, u float64) schema.Amount {
	return asRead(name, measured[Q]{value: q, u: Q(u)})
}

func usual[Q quantity.Quantity](q Q) string { return quantity.Symbols(q.Dimension())[0] }

// ratio is a number without a unit.
func ratio(name string, x float64) schema.Amount { return schema.Amount{Name: name, Value: figures(x)} }

// howMany is a number of things.
func howMany(name string, n int) schema.Amount {
	return schema.Amount{Name: name, Value: strconv.Itoa(n)}
}

// atMost bounds the value of that name from above, atLeast from below, and
// inside both ways.
func atMost[Q quantity.Quantity](name string, q Q) schema.Bound {
	a := amount(name, q)
	return schema.Bound{Name: name, AtMost: a.Value, Unit: a.Unit}
}

func atLeast[Q quantity.Quantity](name string, q Q) schema.Bound {
	a := amount(name, q)
	return schema.Bound{Name: name, AtLeast: a.Value, Unit: a.Unit}
}

func inside[Q quantity.Quantity](name string, low, high Q) schema.Bound {
	b := atLeast(name, low)
	b.AtMost = amount(name, high).Value
	return b
}

// numbered tells subjects apart that stand several times in one entry: the
// second of them gets " 2".
func numbered(found []schema.Finding) []schema.Finding {
	seen := map[string]int{}
	for i := range found {
		seen[found[i].Subject]++
		if n := seen[found[i].Subject]; n > 1 {
			found[i].Subject += " " + strconv.Itoa(n)
		}
	}
	return found
}

// figures writes a number so that nothing that matters is lost, without exponent.
func figures(x float64) string {
	const digits, finest = 6, 1e6
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return "?"
	}
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(math.Round(x*finest)/finest, 'g', digits, 64), 64)
	if rounded == 0 {
		rounded = 0 // not -0
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}

// planned is the entry of the plan, when there is one.
func planned(c *state.Car) []string {
	if c.Plan == nil {
		return nil
	}
	return ids(c.PlanBy)
}

// builtAs are the entries that what is computed from the plan rests on: the plan,
// and the parts that stand in it.
func builtAs(c *state.Car) []string {
	return append(planned(c), fittedAt(c, "pump", "lift pump", "injectors", "filter", "feed line", "regulator", "check valve", "wiring")...)
}

// computed are those of builtAs and the volts and current that were read.
func computed(c *state.Car) []string {
	out := builtAs(c)
	if r, ok := c.LastAtLoad("supply"); ok {
		out = append(out, r.Entry.ID)
	}
	return out
}

// fittedAt are the entries that fitted what is in some places now: with a plan,
// what a computation rests on.
func fittedAt(c *state.Car, places ...string) []string {
	var out []string
	for _, at := range slices.Sorted(maps.Keys(c.Fitted)) {
		for _, place := range places {
			if state.Unnumbered(at) == place {
				out = append(out, c.Fitted[at].Entry.ID)
			}
		}
	}
	return out
}

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }
