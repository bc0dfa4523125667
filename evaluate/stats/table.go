package stats

// tableSteps is how many scores of a Table there are to 1.
const tableSteps = 64

// A Table is a distribution function read from a table: between two scores, a 64th apart, the cubic with their chances
// and densities, which is within 1e-9 of a normal or a Student t; beyond the table the function itself. For where it is
// needed hundreds of times.
type Table struct {
	of    Distribution
	reach float64
	nodes [][2]float64 // chance, and density times the step
}

// A Distribution has a distribution function and a density.
type Distribution interface {
	CDF(x float64) float64
	Prob(x float64) float64
}

// NewTable returns the table of a distribution from -reach to reach.
func NewTable(of Distribution, reach int) *Table {
	t := &Table{of: of, reach: float64(reach), nodes: make([][2]float64, 2*reach*tableSteps+1)}
	for i := range t.nodes {
		x := float64(i)/tableSteps - t.reach
		t.nodes[i] = [2]float64{of.CDF(x), of.Prob(x) / tableSteps}
	}
	return t
}

// CDF returns the chance of at most x.
func (t *Table) CDF(x float64) float64 {
	u := (x + t.reach) * tableSteps
	if !(u >= 0) || u >= float64(len(t.nodes)-1) {
		return t.of.CDF(x)
	}
	i := int(u)
	u -= float64(i)
	a, b := &t.nodes[i], &t.nodes[i+1]
	rise := b[0] - a[0]
	return a[0] + u*(a[1]+u*(3*rise-2*a[1]-b[1]+u*(a[1]+b[1]-2*rise)))
}
