package rules

import (
	"fmt"

	"feedproof/checklist/fuel"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

// Lap judges a lap that was driven in the model, by the limits of L44 and L13:
// whether the engine's pump was short of fuel, and how hot and how near to
// boiling the fuel came. It is shown with the plan and recorded nowhere.
func Lap(c *state.Car, s fuel.System, v fuel.Voyage, as, harder fuel.Session) []schema.Finding {
	return lapRule.worded([]schema.Finding{dryLap(c, v, as, harder), hotLap(c, v, as), boilingLap(c, s, v, as)})
}

// lapRule has the words of what a lap shows; it is no rule of the list.
var lapRule = Rule{Words: Words{
	code.Outside + " lap":     {"the engine goes lean under load", "more fuel at the end, the return into the surge tank or reservoir, a larger one, a baffle, more lift"},
	code.Outside + " lap hot": {"hot fuel gives vapour and less flow", "where does the return end, and what does the line pass?"},
	" lap vapour":             {"the fuel may boil where the pump draws it", "cool it, keep pressure on it, more fuel in the tank, a fuel of lower vapour pressure"},
}}

func dryLap(c *state.Car, v fuel.Voyage, as, harder fuel.Session) schema.Finding {
	f := schema.Finding{
		Rule: "L44", Subject: "lap", About: string(v.Holder) + " over the laps", Limit: "the pump is never short of fuel, nor at 1.25 times the accelerations", Entries: builtAs(c),
	}
	switch {
	case as.Starved > 0:
		f.Severity, f.Measured = schema.Hold, fmt.Sprintf("short for %s, first at %s", seconds(as.Starved), seconds(as.StarvedAt))
	case harder.Starved > 0:
		f.Severity, f.Measured = schema.Flag, fmt.Sprintf("never short; at 1.25 times the accelerations for %s, first at %s", seconds(harder.Starved), seconds(harder.StarvedAt))
	default:
		f.Measured = fmt.Sprintf("never short; least %s, at 1.25 times the accelerations %s", quantity.Format(as.Least, "L", 2), quantity.Format(harder.Least, "L", 2))
	}
	return f
}

func hotLap(c *state.Car, v fuel.Voyage, as fuel.Session) schema.Finding {
	s, limit := shopScale[quantity.Temperature](c, "L13", "at most "+celsius(quantity.Temperature(hotFuelScale[0].above)), hotFuelScale)
	f := hotFuel("over the laps", "lap hot", limit, "", c.PlanBy)
	hottest, where := as.Main.Temperature, "tank, at the end"
	if v.Holder != fuel.HoldsNothing && as.Hottest > hottest {
		hottest, where = as.Hottest, string(v.Holder)
	}
	f.Measured, f.Severity = celsius(hottest)+" in the "+where, s.grade(float64(hottest))
	return f
}

func boilingLap(c *state.Car, s fuel.System, v fuel.Voyage, as fuel.Session) schema.Finding {
	f := schema.Finding{
		Rule: "L13", Subject: "lap vapour", About: "vapour margin over the laps", Limit: "at least 10 kPa between vapour pressure and what stands over the fuel", Entries: planned(c),
	}
	switch {
	case v.Course.RVP == 0 && s.Fuel.EthanolMax > lowEthanol:
		f.Severity, f.Code, f.Measured = schema.Unproven, code.Uncovered, "no published correlation over 10 % ethanol: measure the temperature, "+celsius(as.Hottest)+" here"
	case v.Course.RVP == 0:
		f.Severity, f.Code, f.Measured = schema.Unproven, code.Missing, "the plan gives no Reid vapour pressure"
	default:
		f.Measured = "least " + quantity.Format(as.Margin, "kPa", 1)
		if as.LowAt >= 0 {
			f.Measured += ", under 5 kPa from " + seconds(as.LowAt)
		}
		f.Severity = floorScale{{float64(vapourReserve), schema.Hold}}.grade(float64(as.Margin))
	}
	return f
}
