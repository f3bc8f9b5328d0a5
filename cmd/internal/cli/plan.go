package cli

import (
	"slices"
	"strings"

	"feedproof/checklist"
	"feedproof/checklist/fuel"
	"feedproof/checklist/state"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/schema"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

func (a *app) planCommand() *cobra.Command {
	f := &planFlags{}
	c := &cobra.Command{
		Use: "plan CAR", Short: "plan the fuel system, or show the calculation", Args: takes("CAR"),
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
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.plan(args[0], f)
		},
	}
	f.add(c.Flags())
	f.keepTyped(c.Flags())
	return c
}

func (s *session) plan(carName string, f *planFlags) error {
	v, err := s.Car(carName)
	if err != nil {
		return err
	}
	a, err := s.Assess(v)
	if err != nil {
		return err
	}
	typed := f.typed
	if f.lap.asks() {
		return s.model(v, a, f, typed)
	}
	if len(typed) == 0 && len(f.whatIf) == 0 {
		return s.showPlan(v, a)
	}
	data, err := s.planned(a.Car.Plan, typed)
	if err != nil {
		return err
	}
	if len(f.whatIf) > 0 {
		return s.whatIf(v, a, data, f.whatIf)
	}
	at, err := moment(s.Now(), f.at)
	if err != nil {
		return err
	}
	if err := s.record(v, at, data); err != nil || s.flags.json {
		return err
	}
	if v, err = s.Car(carName); err != nil {
		return err
	}
	if a, err = s.Assess(v); err != nil {
		return err
	}
	if _, err := checklist.PlanAlone(a.Car); err != nil {
		s.Say("the plan is recorded; it cannot be computed yet: %v", err)
		return nil
	}
	return s.showPlan(v, a)
}

// input is one plan flag as typed.
type input struct{ name, value string }

// notInputs are flags of the command that say nothing about the plan.
var notInputs = append([]string{"what-if", "at"}, lapNames...)

// planned is the last plan with the inputs typed now over it.
func (s *session) planned(last *schema.PlanData, typed []input) (schema.PlanData, error) {
	f := &planFlags{data: startPlan(last)}
	set := pflag.NewFlagSet("", pflag.ContinueOnError)
	f.add(set)
	for _, in := range typed {
		if err := f.set(set, in); err != nil {
			return schema.PlanData{}, wrong("feedproof plan --help", "%s: %v", in.name, err)
		}
	}
	d := f.finish()
	if gone := missing(d); len(gone) > 0 {
		return d, wrong("feedproof plan --help; a value that nobody knows is written as unknown, a part is named: feedproof part list", "plan: needs %s", strings.Join(gone, ", "))
	}
	return s.namedParts(d)
}

// namedParts turns what was typed for parts into their ids.
func (s *session) namedParts(d schema.PlanData) (schema.PlanData, error) {
	ids := []*string{&d.Pumps.Part}
	if d.Injectors != nil {
		ids = append(ids, &d.Injectors.Part)
	}
	if d.Surge != nil {
		ids = append(ids, &d.Surge.Lift)
	}
	for _, id := range ids {
		p, err := s.Part(*id)
		if err != nil {
			return d, err
		}
		*id = p.ID
	}
	return d, nil
}

// whatIf shows the calculation with some inputs changed beside the one that
// stands, and records nothing.
func (s *session) whatIf(v desk.Car, now checklist.Assessment, base schema.PlanData, questions []string) error {
	typed, model, err := splitQuestions(questions)
	if err != nil {
		return err
	}
	data, err := s.planned(&base, typed)
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
	if s.flags.json {
		return s.JSON(page)
	}
	s.Head("%s: what if %s (nothing is recorded)", v.Data.Name, strings.Join(questions, ", "))
	before, err := checklist.Plan(now.Car)
	if err != nil {
		s.planTable(page)
		return nil
	}
	s.compareTable(facts.Plan(now.Car, before), page)
	return nil
}

// splitQuestions parts questions about inputs of the plan from those about the
// model alone, such as pump-flow=+25 %.
func splitQuestions(questions []string) (typed []input, model []string, err error) {
	flags := pflag.NewFlagSet("", pflag.ContinueOnError)
	(&planFlags{}).add(flags)
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

func (s *session) showPlan(v desk.Car, a checklist.Assessment) error {
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
	if s.flags.json {
		return s.JSON(planJSON{v.Data.Name, a.Car.Plan, page, outlook})
	}
	s.Head("%s: calculation for %s", v.Data.Name, page.Envelope)
	s.planTable(page)
	s.outlook(outlook)
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

func (s *session) planTable(page facts.PlanPage) {
	if page.Both {
		s.bothTable(page)
		return
	}
	var rows [][]string
	for _, r := range page.Rows {
		if s.Terminal() {
			rows = append(rows, []string{r.Name, r.Value, desk.Joined(s.limited(r), r.Note)})
		} else {
			rows = append(rows, []string{r.Name, r.Value, s.limited(r), r.Note})
		}
	}
	s.Table([]string{"WHAT", "VALUE", "LIMIT, AND WHAT IT IS"}, rows)
	for _, n := range page.Notes {
		s.Say("note: %s", n)
	}
}

// bothTable has the plan and what is fitted in two columns.
func (s *session) bothTable(page facts.PlanPage) {
	var rows [][]string
	for _, r := range page.Rows {
		fitted := r.Fitted
		if fitted != "" && r.Judged {
			fitted += " " + s.Short(r.FittedSeverity)
		}
		rows = append(rows, []string{r.Name, r.Value, fitted, s.limited(r), r.Note})
	}
	s.Table([]string{"WHAT", "AS PLANNED", "AS FITTED", "LIMIT", "WHAT IT IS"}, rows)
	for _, n := range page.Notes {
		s.Say("note: %s", n)
	}
}

func (s *session) compareTable(now, then facts.PlanPage) {
	old := map[string]string{}
	for _, r := range now.Rows {
		old[r.Name] = r.Value
	}
	var rows [][]string
	for _, r := range then.Rows {
		if r.Value != old[r.Name] || r.Judged {
			rows = append(rows, []string{r.Name, old[r.Name], r.Value, s.limited(r)})
		}
	}
	s.Table([]string{"WHAT", "NOW", "THEN", "LIMIT"}, rows)
	for _, n := range then.Notes {
		s.Say("note: %s", n)
	}
}

// limited is the limit of a row with the mark of how it stands.
func (s *session) limited(r facts.PlanRow) string {
	if r.Limit == "" {
		return ""
	}
	if r.Judged {
		return r.Limit + " " + s.Short(r.Severity)
	}
	return r.Limit
}
