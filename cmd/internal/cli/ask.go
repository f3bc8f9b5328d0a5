package cli

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"feedproof/checklist/audit"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"

	"github.com/spf13/cobra"
)

// askOptions are a question with its arguments; without one they are listed.
type askOptions struct {
	words []string
	csv   bool
}

func newAskCommand(run func(context.Context, askOptions) error) *cobra.Command {
	var o askOptions
	c := &cobra.Command{
		Use: "ask [QUESTION] [ARGUMENT ...]", Short: "the auditor's questions, over every record", Args: asUsed,
		Long: `Answer one of the auditor's questions from the committed records of the whole
shop. Without a question it lists them. Each row names the record and entries it
rests on; feedproof explain Q01 says how a question is answered.`,
		Example: `  feedproof ask lot 2231-B
  feedproof ask waivers --csv
  feedproof ask find "KT 42"
  feedproof ask trend kestrel base rail`,
		RunE: func(c *cobra.Command, args []string) error {
			o.words = args
			return run(c.Context(), o)
		},
	}
	c.Flags().BoolVar(&o.csv, "csv", false, "as CSV, one header line; lines end as in any other text")
	return c
}

// asking lists the questions without a shop, and answers one in a shop.
func asking(a *app) func(context.Context, askOptions) error {
	questions, answer := without(a, runQuestions), on(a, runAsk)
	return func(ctx context.Context, o askOptions) error {
		if len(o.words) == 0 {
			return questions(ctx, o)
		}
		return answer(ctx, o)
	}
}

// questionJSON is a question as --json lists it.
type questionJSON struct {
	ID    string `json:"id"`
	Name  string `json:"name"`
	Usage string `json:"usage"`
	Title string `json:"title"`
}

func runQuestions(_ context.Context, _ outside, out *terminal.Screen, o askOptions) error {
	if o.csv {
		return wrong("feedproof ask waivers --csv", "--csv: of which question")
	}
	lines := []questionJSON{}
	var rows [][]string
	for _, q := range audit.All() {
		lines = append(lines, questionJSON{q.ID, q.Name, q.Usage(), q.Title})
		rows = append(rows, []string{q.ID, q.Usage(), q.Title})
	}
	if out.AsJSON() {
		return out.JSON(lines)
	}
	out.Table([]string{"ID", "ASK", "WHAT IT ANSWERS"}, rows)
	return nil
}

// findQuestion finds a question by id, by name or by the start of one.
func findQuestion(name string) (audit.Question, error) {
	if q, ok := audit.Find(name); ok {
		return q, nil
	}
	all := audit.All()
	names := func(q audit.Question) []string { return []string{q.Name, q.ID} }
	found := desk.Matches(all, names, func(n string) bool { return strings.HasPrefix(n, desk.Fold(name)) })
	switch len(found) {
	case 1:
		return all[found[0]], nil
	case 0:
		return audit.Question{}, wrong(desk.Nearest(name, all, names)+"; feedproof ask lists them all", "question %s: is not one", name)
	}
	return audit.Question{}, wrong("name it in full", "question %s: could be %s", name, desk.DescribeAll(all, found, names))
}

func runAsk(_ context.Context, d *desk.Desk, out *terminal.Screen, o askOptions) error {
	if o.csv && out.AsJSON() {
		return wrong("feedproof ask --help", "--csv and --json: only one of them can be given")
	}
	q, err := findQuestion(o.words[0])
	if err != nil {
		return err
	}
	args, err := argumentsOf(d, q, o.words[1:])
	if err != nil {
		return err
	}
	src, err := d.Source()
	if err != nil {
		return err
	}
	answer, err := q.Ask(src, args, d.Now())
	src.Ended()
	if usage := (*audit.UsageError)(nil); errors.As(err, &usage) {
		return wrong("feedproof ask "+q.Usage()+"; feedproof explain "+q.ID, "%s", usage.Error())
	}
	if err != nil {
		return err
	}
	return showAnswer(out, answer, o.csv)
}

// argumentsOf are a question's arguments as it takes them: a car by its id, a
// moment as one word.
func argumentsOf(d *desk.Desk, q audit.Question, typed []string) ([]string, error) {
	args := slices.Clone(typed)
	for i, arg := range q.Args {
		switch {
		case i >= len(args):
		case arg.Kind == audit.Car:
			c, err := d.Car(args[i])
			if err != nil {
				return nil, err
			}
			args[i] = c.ID
		case arg.Kind == audit.Moment:
			args = append(args[:i], stamped(d.Now(), strings.Join(args[i:], " ")))
		}
	}
	return args, nil
}

func showAnswer(out *terminal.Screen, a audit.Answer, asCSV bool) error {
	switch {
	case asCSV:
		err := answerCSV(out, a)
		showNotes(out, a)
		return err
	case out.AsJSON():
		return out.JSON(answerOf(a))
	}
	header, rows := answerTable(out, a)
	if out.Terminal() {
		out.Head("%s %s", a.Question.ID, a.Question.Title)
	}
	if len(rows) > 0 {
		out.Records(header, rows)
	}
	if out.Terminal() {
		out.Say("%s", desk.Plural(len(rows), "row"))
	}
	showNotes(out, a)
	return nil
}

// showNotes says beside the rows what must be known with them.
func showNotes(out *terminal.Screen, a audit.Answer) {
	for _, n := range a.Notes {
		out.Warn("%s", n)
	}
}

// answerTable is the answer as text; the last column is where a row comes
// from. On a screen blank columns are left out; in a pipe a column stands where
// it always stands.
func answerTable(out *terminal.Screen, a audit.Answer) (header []string, rows [][]string) {
	used := make([]bool, len(a.Columns))
	for i := range used {
		used[i] = !out.Terminal() || slices.ContainsFunc(a.Rows, func(r audit.Row) bool { return cell(r.Cells[i]) != "" })
	}
	for i, c := range a.Columns {
		if used[i] {
			header = append(header, strings.ToUpper(strings.ReplaceAll(c.Name, "_", " ")))
		}
	}
	for _, r := range a.Rows {
		var row []string
		for i, c := range r.Cells {
			if used[i] {
				row = append(row, inWords(c))
			}
		}
		rows = append(rows, append(row, comesFrom(out, r)))
	}
	return append(header, "FROM"), rows
}

// mostOrigins bounds the entries of a row on a screen; a pipe has them all.
const mostOrigins = 6

// comesFrom is the record and the entries of a row.
func comesFrom(out *terminal.Screen, r audit.Row) string {
	shown := r.Entries
	if more := len(shown) - mostOrigins; more > 0 && out.Terminal() {
		shown = append(slices.Clone(shown[:mostOrigins]), fmt.Sprintf("and %d more with --csv", more))
	}
	entries := strings.Join(shown, " ")
	if r.Record == "" { // of several
		return entries
	}
	return strings.TrimSpace(string(r.Kind) + "/" + r.Record + " " + entries)
}

// cell is a value as text; a number has no more decimals than it needs.
func cell(v any) string {
	if x, ok := v.(float64); ok {
		return strconv.FormatFloat(x, 'f', -1, 64)
	}
	return fmt.Sprint(v)
}

// inWords is a cell as people read it.
func inWords(v any) string {
	if yes, is := v.(bool); is {
		return map[bool]string{true: "yes", false: "no"}[yes]
	}
	return cell(v)
}

// answerJSON is an answer as --json prints it.
type answerJSON struct {
	Question string           `json:"question"`
	Name     string           `json:"name"`
	Args     []string         `json:"args"`
	Columns  []columnJSON     `json:"columns"`
	At       string           `json:"at"`
	Rows     []map[string]any `json:"rows"`
	Notes    []string         `json:"notes"`
}

// columnJSON says what a member of a row means.
type columnJSON struct {
	Name  string `json:"name"`
	Means string `json:"means"`
}

func answerOf(a audit.Answer) answerJSON {
	out := answerJSON{a.Question.ID, a.Question.Name, list(a.Args), []columnJSON{}, a.At.Format("2006-01-02T15:04:05Z07:00"), []map[string]any{}, list(a.Notes)}
	for _, c := range a.Columns {
		out.Columns = append(out.Columns, columnJSON{c.Name, c.About})
	}
	for _, r := range a.Rows {
		row := map[string]any{"record": r.Record, "record_kind": r.Kind, "entries": list(r.Entries)}
		for i, c := range a.Columns {
			row[c.Name] = r.Cells[i]
		}
		out.Rows = append(out.Rows, row)
	}
	return out
}

func answerCSV(out *terminal.Screen, a audit.Answer) error {
	header := []string{"record_kind", "record"}
	for _, c := range a.Columns {
		header = append(header, c.Name)
	}
	rows := [][]string{append(header, "entries")}
	for _, r := range a.Rows {
		row := []string{string(r.Kind), r.Record}
		for _, c := range r.Cells {
			row = append(row, cell(c))
		}
		rows = append(rows, append(row, strings.Join(r.Entries, " ")))
	}
	return out.CSV(rows)
}
