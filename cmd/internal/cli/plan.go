package cli

import (
	"slices"
	"strings"

	"feedproof/checklist"
	"feedproof/checklist/car"
	"feedproof/cmd/internal/sheet"
	"feedproof/schema"
	"feedproof/schema/quantity"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

func (a *app) planCommand() *cobra.Command {
	f := &planFlags{}
	c := &cobra.Command{
		Use: "plan CAR", Short: "plan the fuel system, or show the calculation", Args: takes("CAR"),
		Long: `Plan the fuel system of a car. With inputs it records a plan: what is not given
stays as in the last one. Without, it shows the calculation for what is fitted
or planned, each number beside its limit. --what-if asks without recording.

--lap drives the car round a lap in the model: surge tank or reservoir, tank and
fuel temperature until the least level. A log needs accelerations, forward and
to the left positive, and what says how hard the engine worked. --waves follows the
pressure waves in the planned rail: how much the cylinders differ by them, with
and without a damper, and as what a slow log shows them.`,
		Example: `  feedproof plan kestrel --power "300 kW" --boost "1.2 bar" --rpm "7000 rpm" \
     --ethanol "0 to 10 %" --altitude "500 m" --bsfc "0.36 kg/kWh" \
     --regulator referenced --base "3 bar" --injectors INJ-1000 --injector-count 4 \
     --pump PUMP-A --pump-volts "13.5 V" --feed-bore "8 mm" --feed-length "4 m"
  feedproof plan kestrel
  feedproof plan kestrel --what-if boost=+0.3bar --what-if pump=PUMP-B
  feedproof plan kestrel --lap ring --what-if surge="3 L"`,
		RunE: func(c *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.plan(args[0], c.Flags(), f)
		},
	}
	f.add(c.Flags())
	return c
}

func (s *session) plan(carName string, flags *pflag.FlagSet, f *planFlags) error {
	v, err := s.car(carName)
	if err != nil {
		return err
	}
	a, err := s.assess(v)
	if err != nil {
		return err
	}
	typed := typedInputs(flags)
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
	at, err := s.moment(f.at)
	if err != nil {
		return err
	}
	if err := s.record(v, at, data); err != nil || s.flags.json {
		return err
	}
	if v, err = s.car(carName); err != nil {
		return err
	}
	if a, err = s.assess(v); err != nil {
		return err
	}
	if _, err := checklist.Plan(a.Car); err != nil {
		s.Say("the plan is recorded; it cannot be computed yet: %v", err)
		return nil
	}
	return s.showPlan(v, a)
}

// input is one plan flag as typed.
type input struct{ name, value string }

// notInputs are flags of the command that say nothing about the plan.
var notInputs = append([]string{"what-if", "at"}, lapNames...)

func typedInputs(flags *pflag.FlagSet) []input {
	var typed []input
	own := pflag.NewFlagSet("", pflag.ContinueOnError)
	(&planFlags{}).add(own)
	flags.Visit(func(f *pflag.Flag) {
		if own.Lookup(f.Name) != nil && !slices.Contains(notInputs, f.Name) {
			typed = append(typed, input{f.Name, f.Value.String()})
		}
	})
	return typed
}

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
		return d, wrong("feedproof plan --help; write a value as unknown when nobody knows it", "plan: needs %s", strings.Join(gone, ", "))
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
		p, err := s.part(*id)
		if err != nil {
			return d, err
		}
		*id = p.ID
	}
	return d, nil
}

// whatIf shows the calculation with some inputs changed beside the one that
// stands, and records nothing.
func (s *session) whatIf(v vehicle, now checklist.Assessment, base schema.PlanData, questions []string) error {
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
		keepReserve(now.Car, &then)
	}
	result, err := checklist.PlanIf(&then, model...)
	if err != nil {
		return failed("feedproof plan "+quoted(v.Data.Name), "what if %s: %v", strings.Join(questions, ", "), err)
	}
	page := sheet.Plan(&then, result)
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
	s.compareTable(sheet.Plan(now.Car, before), page)
	return nil
}

// keepReserve raises a rounded-up outlet pressure with what the lines need, so
// that the lead's reserve over it stays; it never lowers the lead's figure.
func keepReserve(now, then *car.Car) {
	if !then.Plan.Outlet.Known() {
		return
	}
	before, err := checklist.Plan(now)
	if err != nil {
		return
	}
	free := *then.Plan
	free.Outlet = schema.Q[quantity.Gauge]{}
	asked := *then
	asked.Plan = &free
	after, err := checklist.Plan(&asked)
	if err != nil {
		return
	}
	reserve := before.Pressures.Outlet - before.Pressures.Computed
	if outlet := after.Pressures.Computed + reserve; outlet > before.Pressures.Outlet {
		free.Outlet = schema.Write[quantity.Gauge](quantity.Write(outlet, "bar", moreDecimals))
		then.Plan = &free
	}
}

// splitQuestions parts questions about inputs of the plan from those about the
// model alone, such as pump-flow=+25 %.
func splitQuestions(questions []string) (typed []input, model []string, err error) {
	flags := pflag.NewFlagSet("", pflag.ContinueOnError)
	(&planFlags{}).add(flags)
	for _, q := range questions {
		name, value, ok := strings.Cut(strings.TrimPrefix(q, "--"), "=")
		switch {
		case !ok:
			return nil, nil, wrong("--what-if boost=+0.3bar", "--what-if: %q is not NAME=VALUE", q)
		case flags.Lookup(name) != nil || !checklist.ModelInput(name):
			typed = append(typed, input{name, value})
		default:
			model = append(model, name+"="+value)
		}
	}
	return typed, model, nil
}

// planJSON is the calculation as --json prints it.
type planJSON struct {
	Vehicle string           `json:"vehicle"`
	Plan    *schema.PlanData `json:"plan"`
	sheet.PlanPage
	Outlook sheet.Outlook `json:"outlook"`
}

func (s *session) showPlan(v vehicle, a checklist.Assessment) error {
	if a.Car.Plan == nil {
		return failed("feedproof plan --help", "%s: has no plan yet", v.Data.Name)
	}
	result, err := checklist.Plan(a.Car)
	if err != nil {
		return failed("feedproof plan "+quoted(v.Data.Name)+" --help, or complete the part", "%s: cannot be computed: %v", v.Data.Name, err)
	}
	look, err := checklist.Look(a.Car)
	if err != nil {
		return failed("feedproof plan "+quoted(v.Data.Name)+" --help, or complete the part", "%s: cannot be computed: %v", v.Data.Name, err)
	}
	page, outlook := sheet.Plan(a.Car, result), sheet.NewOutlook(look)
	if s.flags.json {
		return s.JSON(planJSON{v.Data.Name, a.Car.Plan, page, outlook})
	}
	s.Head("%s: calculation for %s", v.Data.Name, page.Envelope)
	s.planTable(page)
	s.outlook(outlook)
	return nil
}

func (s *session) planTable(page sheet.PlanPage) {
	var rows [][]string
	for _, r := range page.Rows {
		if s.Terminal() {
			rows = append(rows, []string{r.Name, r.Value, joinNonEmpty(s.limited(r), r.Note)})
		} else {
			rows = append(rows, []string{r.Name, r.Value, s.limited(r), r.Note})
		}
	}
	s.Table([]string{"WHAT", "VALUE", "LIMIT, AND WHAT IT IS"}, rows)
	for _, n := range page.Notes {
		s.Say("note: %s", n)
	}
}

func (s *session) compareTable(now, then sheet.PlanPage) {
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
func (s *session) limited(r sheet.PlanRow) string {
	if r.Limit == "" {
		return ""
	}
	if r.Judged {
		return r.Limit + " " + s.Short(r.Severity)
	}
	return r.Limit
}
