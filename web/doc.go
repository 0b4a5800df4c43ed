// Package web is the workbench in the browser: pages, their assets, and the requests they make.
// A handler reads its request, asks the desk one thing and writes what it says; nothing is computed here.
//
// The server listens on loopback only, for one person. Each start draws a token: who does not bring it, or the
// cookie it was exchanged for, is refused. Requests for another host name (a foreign page that had its own name
// resolved to this machine) and changes asked for by another site are refused before they reach a handler.
//
// Pages ask for nothing outside this server: type, styles and scripts are embedded. The scripts are
// written in TypeScript under client and island and bundled into static/js and static/css by go generate.
//
// Quantities in JSON are SI; places are px in the upright picture, x right, y down, the centre of the top left
// pixel at the origin.
package web

//go:generate go run ./bundle
