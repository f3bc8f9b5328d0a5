package rules

import (
	"errors"
	"fmt"
	"strconv"

	"feedproof/checklist/fuel"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var marginScale = floorScale{{1.20, schema.Flag}, {1.10, schema.Hold}, {1.00, schema.Block}}

const highEthanol = quantity.Fraction(0.50)

var _ = register(Rule{
	ID: "L01", Title: "flow margin, up to E50", Never: true,
	What: "What the fitted pump delivers at the outlet pressure and terminal voltage of full load, aged, over what the engine takes at the envelope. " +
		"Planned parts stand in for what is not fitted yet; measured volts replace planned ones. Where other parts are fitted than the plan names, both are judged: the plan for its acceptance, what is fitted for the release. Above E50 see L01e.",
	Formula:  "margin = delivery(p_out - p_in, U) x ageing / (P x BSFC / rho); p_out = base + boost + line + filter + check valve + height; BSFC carried to the fuel with most ethanol by energy: BSFC2 = BSFC1 LHV1 / LHV2",
	Limits:   "OK from 1.20, FLAG from 1.10, HOLD from 1.00, BLOCK below. A shop may tighten these, never loosen them",
	Source:   "common practice; ageing 0.95 and hot fuel 0.95 are shop policy",
	Means:    "Below 1.00 the engine runs lean at the top of a pull, and a lean engine under boost breaks.",
	Next:     "Fit a bigger pump, find lost volts, or lower the envelope until the margin is honest. A shortage is never waived.",
	Words:    marginWords,
	Envelope: true,
	Shop:     atLeastOwn[quantity.Fraction](marginScale),
	Judge:    inVisit(func(c *state.Car) []schema.Finding { return judgeMargin(c, "L01", false, marginScale) }),
})

var marginWords = Words{
	code.Missing: {"nothing shows it yet", "plan the car first: feedproof plan CAR --power ... --boost ..."},
	code.Outside: {"the pump has too little in hand for the engine at this envelope", "fit a bigger pump, find lost volts, or lower the envelope; a shortage is never waived"},
	code.Beyond:  {"nothing shows that the pump delivers there", "a pump whose curve reaches there, fewer lost volts, or a lower envelope"},
}

func judgeMargin(c *state.Car, rule string, ethanol bool, s floorScale) []schema.Finding {
	s, limit := shopFloor[quantity.Fraction](c, rule, fmt.Sprintf("at least %.2f", s[0].above), s)
	if c.Plan == nil {
		if ethanol {
			return nil
		}
		return lacking(schema.Finding{Rule: rule, Subject: "margin", About: "flow margin", Limit: limit}, code.Missing)
	}
	if (c.Plan.Envelope.EthanolMax.Or(1) > highEthanol) != ethanol {
		return nil
	}
	return bothWays(c, func(w way) []schema.Finding {
		f := w.finding(c, rule, "margin", "flow margin", limit)
		f.Limits = []schema.Bound{{Name: "margin", AtLeast: figures(s[0].above)}}
		if w.err != nil {
			return noMargin(uncomputed(f, w.err), w.err)
		}
		r := w.result
		f.Severity, f.Measured = s.grade(float64(r.Delivery.Margin)), marginText(r)
		f.Values = []schema.Amount{ratio("margin", float64(r.Delivery.Margin)), amount("delivery", r.Delivery.Flow), amount("outlet", r.Pressures.Outlet), amount("volts", r.Delivery.Voltage), amount("demand", r.Demand.Volume)}
		return []schema.Finding{f}
	})
}

func marginText(r fuel.Result) string {
	return fmt.Sprintf("%s: delivery %s at %s and %s, demand %s", margin(float64(r.Delivery.Margin)),
		flow(r.Delivery.Flow), bar(r.Pressures.Outlet), quantity.Format(r.Delivery.Voltage, "V", 1), flow(r.Demand.Volume))
}

// margin prints with two decimals, or with more where two would round it up
// over a limit that it does not reach.
func margin(m float64) string {
	for decimals := 2; ; decimals++ {
		text := strconv.FormatFloat(m, 'f', decimals, 64)
		if shown, _ := strconv.ParseFloat(text, 64); marginScale.grade(shown) == marginScale.grade(m) {
			return text
		}
	}
}

// uncomputed is a finding when the calculation cannot be made. Operation
// outside a pump's curve is a shortage of proof, not of fuel.
func uncomputed(f schema.Finding, err error) []schema.Finding {
	f.Severity, f.Code, f.Measured, f.Limits = schema.Unproven, code.Uncomputed, err.Error(), nil
	var outside *fuel.RangeError
	if errors.As(err, &outside) {
		f.Code = code.Uncovered
	}
	return []schema.Finding{f}
}

// noMargin makes a margin a BLOCK where the pump's curve ends on the worse
// side: more boost or fewer volts must not look better than a shortage.
func noMargin(found []schema.Finding, err error) []schema.Finding {
	var outside *fuel.RangeError
	if errors.As(err, &outside) && beyondCurve(outside) {
		found[0].Severity, found[0].Code = schema.Block, code.Beyond
	}
	return found
}

// beyondCurve reports that a pump was asked for more pressure, or on fewer
// volts, than its curve shows: the worse side, where delivery only falls.
func beyondCurve(e *fuel.RangeError) bool {
	_, notPressure := quantity.Parse[quantity.Difference](e.Value)
	_, notVolts := quantity.Parse[quantity.Voltage](e.Value)
	return notPressure == nil && e.Over || notVolts == nil && !e.Over
}
