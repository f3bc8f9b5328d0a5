package cli

import (
	"context"
	"slices"
	"strings"

	"feedproof/checklist"
	"feedproof/checklist/fuel"
	"feedproof/checklist/state"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// planOptions are the inputs of a plan, or what is asked of it.
type planOptions struct {
	car    string
	typed  []input // in order
	whatIf []string
	at     string
	lap    lapOptions
}

// input is one plan flag as typed.
type input struct{ name, value string }

func newPlanCommand(run func(context.Context, planOptions) error) *cobra.Command {
	var o planOptions
	c := &cobra.Command{
		Use: "plan CAR", Short: "plan the fuel system, or show the calculation", Args: asUsed,
		Long: `Plan the fuel system of a car. With inputs it records a plan: what is not given
stays as in the last one. A value is the value itself, with its own sign; "+="
and "-=" in front move the last one. Without inputs it shows the calculation, as
planned and, where the car carries other parts, as fitted, each number beside
its limit. --what-if asks without recording.

--lap drives the car round a lap in the model: surge tank or reservoir, tank and
fuel temperature until the least level. A log needs accelerations, forward and
to the left positive, and what says how hard the engine worked. --waves follows
the pressure waves in the planned rail: how much the cylinders differ by them,
with and without a damper, and as what a slow log shows them.`,
		Example: `  feedproof plan kestrel --power "300 kW" --basis crank --boost "1.2 bar" --rpm "7000 rpm" \
     --ethanol "0 to 10 %" --altitude "500 m" --bsfc "0.36 kg/kWh on 10 %" \
     --regulator referenced --base "3 bar" --injectors INJ-1000 --injector-count 4 \
     --pump PUMP-A --pump-volts "13.5 V" --feed-bore "8 mm" --feed-length "4 m" \
     --return-bore "8 mm" --return-length "4 m"
  feedproof plan kestrel
  feedproof plan kestrel --what-if boost+=0.3bar --what-if pump=PUMP-B
  feedproof plan kestrel --lap ring --what-if surge="3 L"`,
		RunE: func(c *cobra.Command, args []string) error {
			o.car = args[0]
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	keepTyped(f, &o.typed)
	o.lap.add(f)
	f.StringArrayVar(&o.whatIf, "what-if", nil, "ask without recording: NAME=VALUE, NAME+=STEP or NAME-=STEP")
	f.StringVar(&o.at, "at", "", "when it was planned")
	return c
}

func runPlan(_ context.Context, d *desk.Desk, out *terminal.Screen, in folder, o planOptions) error {
	v, err := d.Car(o.car)
	if err != nil {
		return err
	}
	a, err := d.Assess(v)
	switch {
	case err != nil:
		return err
	case o.lap.asks():
		return askModel(d, out, in, v, a, o)
	case len(o.typed) == 0 && len(o.whatIf) == 0:
		return showPlan(out, v, a)
	}
	data, err := planned(d, a.Car.Plan, o.typed)
	if err != nil {
		return err
	}
	if len(o.whatIf) > 0 {
		return askWhatIf(d, out, v, a, data, o.whatIf)
	}
	return recordPlan(d, out, v, data, o.at)
}

// recordPlan writes a plan down and shows what it computes to.
func recordPlan(d *desk.Desk, out *terminal.Screen, v desk.Car, data schema.PlanData, typedAt string) error {
	at, err := moment(d.Now(), typedAt)
	if err != nil {
		return err
	}
	if err := record(d, out, v, at, data); err != nil || out.AsJSON() {
		return err
	}
	if v, err = d.CarOf(v.ID); err != nil {
		return err
	}
	a, err := d.Assess(v)
	if err != nil {
		return err
	}
	if _, err := checklist.PlanAlone(a.Car); err != nil {
		out.Say("the plan is recorded; it cannot be computed yet: %v", err)
		return nil
	}
	return showPlan(out, v, a)
}

// planned is the last plan with the inputs typed now over it.
func planned(d *desk.Desk, last *schema.PlanData, typed []input) (schema.PlanData, error) {
	set := pflag.NewFlagSet("", pflag.ContinueOnError)
	p := addInputs(set, startPlan(last))
	for _, in := range typed {
		if err := setInput(set, in); err != nil {
			return schema.PlanData{}, wrong("feedproof plan --help", "%s: %v", in.name, err)
		}
	}
	data := p.finish()
	if gone := missing(data); len(gone) > 0 {
		return data, wrong("feedproof plan --help; a value that nobody knows is written as unknown, a part is named: feedproof part list", "plan: needs %s", strings.Join(gone, ", "))
	}
	return namedParts(d, data)
}

// namedParts turns what was typed for parts into their ids.
func namedParts(d *desk.Desk, data schema.PlanData) (schema.PlanData, error) {
	ids := []*string{&data.Pumps.Part}
	if data.Injectors != nil {
		ids = append(ids, &data.Injectors.Part)
	}
	if data.Surge != nil {
		ids = append(ids, &data.Surge.Lift)
	}
	for _, id := range ids {
		p, err := d.Part(*id)
		if err != nil {
			return data, err
		}
		*id = p.ID
	}
	return data, nil
}

// askWhatIf shows the calculation with some inputs changed beside the one that
// stands, and records nothing.
func askWhatIf(d *desk.Desk, out *terminal.Screen, v desk.Car, now checklist.Assessment, base schema.PlanData, questions []string) error {
	typed, model, err := splitQuestions(questions)
	if err != nil {
		return err
	}
	data, err := planned(d, &base, typed)
	if err != nil {
		return err
	}
	then := *now.Car
	then.Plan = &data
	then.Fitted = withoutAsked(now.Car.Fitted, typed)
	if !slices.ContainsFunc(typed, func(in input) bool { return in.name == "outlet" }) {
		data.Outlet = checklist.OutletFor(now.Car, &then)
	}
	result, err := checklist.PlanIf(&then, model...)
	if err != nil {
		return failed("feedproof plan "+desk.Quoted(v.Data.Name), "what if %s: %v", strings.Join(questions, ", "), err)
	}
	page := facts.Plan(&then, result)
	if len(model) > 0 {
		page = page.Unjudged()
	}
	if out.AsJSON() {
		return out.JSON(page)
	}
	out.Head("%s: what if %s (nothing is recorded)", v.Data.Name, strings.Join(questions, ", "))
	before, err := checklist.Plan(now.Car)
	if err != nil {
		planTable(out, page)
		return nil
	}
	compareTable(out, facts.Plan(now.Car, before), page)
	return nil
}

// splitQuestions parts questions about inputs of the plan from those about the
// model alone, such as pump-flow=+25 %.
func splitQuestions(questions []string) (typed []input, model []string, err error) {
	flags := pflag.NewFlagSet("", pflag.ContinueOnError)
	addInputs(flags, schema.PlanData{})
	for _, q := range questions {
		c, err := fuel.ParseChange(strings.TrimPrefix(q, "--"))
		switch {
		case err != nil:
			return nil, nil, wrong("--what-if boost+=0.3bar", "--what-if: %v", err)
		case flags.Lookup(c.Input) == nil && checklist.ModelInput(c.Input):
			model = append(model, strings.TrimPrefix(q, "--"))
		default:
			typed = append(typed, input{c.Input, c.Word() + c.Text})
		}
	}
	return typed, model, nil
}

// planJSON is the calculation as --json prints it.
type planJSON struct {
	Vehicle string           `json:"vehicle"`
	Plan    *schema.PlanData `json:"plan"`
	facts.PlanPage
	Outlook facts.Outlook `json:"outlook"`
}

func showPlan(out *terminal.Screen, v desk.Car, a checklist.Assessment) error {
	if a.Car.Plan == nil {
		return failed("feedproof plan --help", "%s: has no plan yet", v.Data.Name)
	}
	result, err := checklist.PlanAlone(a.Car)
	if err != nil {
		return failed("feedproof plan "+desk.Quoted(v.Data.Name)+" --help, or complete the part", "%s: cannot be computed: %v", v.Data.Name, err)
	}
	look, err := checklist.Look(a.Car)
	if err != nil {
		return failed("feedproof plan "+desk.Quoted(v.Data.Name)+" --help, or complete the part", "%s: cannot be computed: %v", v.Data.Name, err)
	}
	page, outlook := planPage(a.Car, result), facts.NewOutlook(look)
	if out.AsJSON() {
		return out.JSON(planJSON{v.Data.Name, a.Car.Plan, page, outlook})
	}
	out.Head("%s: calculation for %s", v.Data.Name, page.Envelope)
	planTable(out, page)
	showOutlook(out, outlook)
	return nil
}

// planPage has the plan, with what is fitted beside it where that is another
// part and can be computed.
func planPage(c *state.Car, planned fuel.Result) facts.PlanPage {
	fitted, err := checklist.Plan(c)
	if err != nil {
		page := facts.Plan(c, planned)
		page.Notes = append(page.Notes, "what is fitted cannot be computed: "+err.Error())
		return page
	}
	return facts.PlanBoth(c, planned, fitted)
}

func planTable(out *terminal.Screen, page facts.PlanPage) {
	if page.Both {
		bothTable(out, page)
		return
	}
	var rows [][]string
	for _, r := range page.Rows {
		if out.Terminal() {
			rows = append(rows, []string{r.Name, r.Value, desk.Joined(limited(out, r), r.Note)})
		} else {
			rows = append(rows, []string{r.Name, r.Value, limited(out, r), r.Note})
		}
	}
	out.Table([]string{"WHAT", "VALUE", "LIMIT, AND WHAT IT IS"}, rows)
	for _, n := range page.Notes {
		out.Say("note: %s", n)
	}
}

// bothTable has the plan and what is fitted in two columns.
func bothTable(out *terminal.Screen, page facts.PlanPage) {
	var rows [][]string
	for _, r := range page.Rows {
		fitted := r.Fitted
		if fitted != "" && r.Judged {
			fitted += " " + out.Short(r.FittedSeverity)
		}
		rows = append(rows, []string{r.Name, r.Value, fitted, limited(out, r), r.Note})
	}
	out.Table([]string{"WHAT", "AS PLANNED", "AS FITTED", "LIMIT", "WHAT IT IS"}, rows)
	for _, n := range page.Notes {
		out.Say("note: %s", n)
	}
}

func compareTable(out *terminal.Screen, now, then facts.PlanPage) {
	old := map[string]string{}
	for _, r := range now.Rows {
		old[r.Name] = r.Value
	}
	var rows [][]string
	for _, r := range then.Rows {
		if r.Value != old[r.Name] || r.Judged {
			rows = append(rows, []string{r.Name, old[r.Name], r.Value, limited(out, r)})
		}
	}
	out.Table([]string{"WHAT", "NOW", "THEN", "LIMIT"}, rows)
	for _, n := range then.Notes {
		out.Say("note: %s", n)
	}
}

// limited is the limit of a row with the mark of how it stands.
func limited(out *terminal.Screen, r facts.PlanRow) string {
	if r.Limit == "" {
		return ""
	}
	if r.Judged {
		return r.Limit + " " + out.Short(r.Severity)
	}
	return r.Limit
}
