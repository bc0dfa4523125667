package listing

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"wreckoner/damage"
)

// A role is what the grammar asks of some words beyond their kind. The lexicon
// says which words have it; no code knows the words.
type role uint64

const (
	areaNose role = 1 << iota
	areaTail
	areaSide
	areaFrontCorner
	areaRearCorner
	flooding
	damp
	stripping
	burnt
	stolen
	gone
	hot
	undone
	plainDamage
	light
	window
	absorbs
	shell
	group
	underside
	heading
	panel
	straight
	kerb
	beside
	after
	of
	from
	to
	through
	into
	reaches
	locates
	figure
	onlyThis
	lacking
	shallow
	style
	doors
	replaced
	wheel
	cut
	crack
)

// roles lists every role with the kinds of row that can have it, and a row to
// write where a lexicon has none. A role that two kinds need has two lines.
var roles = []struct {
	role  role
	name  string
	kinds kind
	row   string
}{
	{areaNose, "nose", area, "nose,area,,c,3,,,nose,damage to the front as a whole"},
	{areaTail, "tail", area, "tail,area,,c,3,,,tail,damage to the rear as a whole"},
	{areaSide, "side", area, "side,area,,c,3,,,side,damage to one side as a whole"},
	{areaFrontCorner, "front-corner", area, "front corner,area,,c,3,,,front-corner,damage to a front corner"},
	{areaRearCorner, "rear-corner", area, "rear corner,area,,c,3,,,rear-corner,damage to a rear corner"},
	{flooding, "flood", event, "flood|flooded,event,whole,c,2,,,flood,water through the car"},
	{damp, "damp", event, "damp|wet,event,whole,c,1,,,damp,water that is said to be somewhere"},
	{stripping, "stripped", event, "stripped,event,whole,c,3,,,stripped,parts taken off the car"},
	{burnt, "burnt", harm, "burnt,harm,,,,3,,burnt hot,alone in a listing it is the event of that role"},
	{burnt, "burnt", event, "burnt out,event,whole,c,4,,,burnt,"},
	{stolen, "stolen", harm, "stolen,harm,,,,3,,gone stolen,alone in a listing it is the event of that role"},
	{stolen, "stolen", event, "stolen recovered,event,cabin,c,1,,45,stolen,"},
	{gone, "gone", harm, "missing|removed,harm,,,,3,,gone,parts taken off the car"},
	{hot, "hot", harm, "melted|scorched,harm,,,,3,,hot,damage by heat pushes nothing"},
	{undone, "undone", harm, "needs|requires,harm,,,,,,undone,what is still to be done"},
	{plainDamage, "damage", harm, "damage|fault,harm,,,,,,damage,damage without a word of what kind"},
	{light, "light", severity, "light,severity,,,,1,,light,may be the lamp of the part with that role"},
	{light, "light", part, "lights|lamp,part,end,c,3,,,light,"},
	{window, "window", part, "window|glass,part,side,c,3,,,window,all of it is the rear screen and windscreen too"},
	{absorbs, "absorbs", things, "carpet|seat,fitting,cabin,c,2,,,absorbs,counted with the water in a flood"},
	{shell, "shell", part, "structural|chassis,part,hit,s,2,,,shell,the body where it is said to be straight"},
	{group, "group", things, "interior,fitting,cabin,c,2,,,group,stands for all that is there"},
	{underside, "underside", part, "underside,part,under,s,2,,,underside,after a part it only says where that is"},
	{heading, "heading", things, "mechanical,fitting,bay,m,2,,,heading,heads a list of what is wrong"},
	{panel, "panel", class, "panel|panels,class,,c,,,,panel,after a part it belongs to its name"},
	{straight, "straight", sound, "straight|true,sound,,,,,,straight,said of a body it means the structure"},
	{kerb, "kerb", filler, "hit a kerb,filler,,,,,,kerb,what meets a kerb is a wheel"},
	{beside, "beside", filler | link, "beside it,filler,,,,,,beside,next to the part named before it"},
	{after, "after", filler, "after|following,filler,,,,,,after,what follows it is the cause"},
	{lacking, "lacking", negation, "no|without,negation,,,,,,lacking,before a part it says that the part is missing"},
	{onlyThis, "only", filler, "only|just,filler,,,,,,only,what is said of the rest does not hold for it"},
	{of, "of", link, "of,link,to,,,,,of,"},
	{from, "from", link, "from,link,to,,,,,from,where a stretch of damage begins"},
	{to, "to", link, "to,link,to,,,,,to,where a stretch of damage ends"},
	{through, "through", link, "through,link,to,,,,,through,"},
	{into, "into", link, "into,link,to,,,,,into,what a part is pushed into may be damaged too"},
	{reaches, "reaches", link, "up to,link,to,,,,,reaches,how far damage reaches"},
	{figure, "figure", count, "x2|2x,count,2,,,,,figure,counts the part before it too"},
	{shallow, "shallow", harm, "will polish out|polishes out,harm,,c,,1,,shallow,paint that needs no more than polish"},
	{style, "style", filler, "saloon|hatchback,filler,,,,,,style,says which car it is"},
	{doors, "doors", filler, "2 door|4 door,filler,,,,,,style doors,the body; or so many doors among damaged parts"},
	{replaced, "replaced", part, "windscreen,part,cabin,c,2,,,replaced,one job however badly broken"},
	{wheel, "wheel", fitting, "alloy,fitting,corner,c,1,,,wheel,a cracked one is replaced"},
	{cut, "cut", harm, "slashed|ripped,harm,,,,3,,cut,what is cut open pushes nothing"},
	{crack, "crack", harm, "cracked|split,harm,,,,2,,crack,what cannot be straightened"},
	{locates, "locates", link, "behind|under,link,to,,,,,locates,the part after it only says where"},
}

// parseRoles reads the cell of a row of kind k: names of roles with spaces
// between them.
func parseRoles(text string, k kind) (role, error) {
	var all role
	var able []string
	for _, r := range roles {
		if r.kinds&k != 0 {
			able = append(able, r.name)
		}
	}
	for _, name := range strings.Fields(strings.ToLower(text)) {
		found := role(0)
		for _, r := range roles {
			if r.name == name && r.kinds&k != 0 {
				found = r.role
			}
		}
		if found == 0 {
			return 0, fmt.Errorf("%q is not a role of a %s; write one of %s, or leave it blank",
				name, k, strings.Join(able, ", "))
		}
		all |= found
	}
	return all, nil
}

// checkRoles returns a Fault for each role that no row of the lexicon has, and
// one only where none has any.
func (l *Lexicon) checkRoles() error {
	var faults []error
	if len(l.cast) == 0 {
		var names []string
		for _, r := range roles {
			names = append(names, r.name)
		}
		return &Fault{Column: "role", Problem: fmt.Sprintf(
			"no row has a role; the lexicon must say which words are %s, each on a row such as %s",
			strings.Join(slices.Compact(names), ", "), roles[0].row)}
	}
	for _, r := range roles {
		if l.playing(r.role, r.kinds) == nil {
			faults = append(faults, &Fault{Column: "role", Problem: fmt.Sprintf(
				"no %s has the role %s; put it on the row for those words, or add the row %s",
				strings.Split(r.row, ",")[1], r.name, r.row)})
		}
	}
	return errors.Join(faults...)
}

// playing returns the first entry of those kinds that has the role, or nil.
func (l *Lexicon) playing(r role, k kind) *entry {
	for _, e := range l.cast[r] {
		if e.kind&k != 0 {
			return e
		}
	}
	return nil
}

// areaRoles is the role of the area rows that describe damage to a zone as a
// whole.
var areaRoles = map[damage.Zone]role{
	damage.Nose: areaNose, damage.Tail: areaTail,
	damage.SideNear: areaSide, damage.SideOff: areaSide,
	damage.FrontNear: areaFrontCorner, damage.FrontOff: areaFrontCorner,
	damage.RearNear: areaRearCorner, damage.RearOff: areaRearCorner,
}
