// Package draw makes small pictures of numbers as inline SVG.
//
// A picture is a plain struct with a method SVG, which html/template can call;
// the same struct gives the same bytes. Nothing here knows what a car is, and
// nothing here reads a file. A page that shows pictures carries [CSS] once.
//
// Every picture has a title and a description that says its numbers in words.
// Its text is text, at least 11 pixels high in a column 358 pixels wide, and
// is escaped in one place. No meaning hangs on colour: what differs, differs in
// shape, in ruling, in position or in words. No element has an id, so that any
// number of pictures can share a page.
//
// Colours and strokes are those of the style sheet's custom properties: light,
// dark, print in black and white, and the reader's own where colours are forced.
package draw
