/** Texts that stand below a command's options in --help. They teach: what it reads, what it writes, an example, the exit codes. */

const EXIT_CODES = `
Exit codes:
  0  sound: nothing stands in the way
  1  stopped: a finding says "stop"; no program is to be run
  2  bad input: a file, a value or the command line cannot be used
  3  a defect of this program, or a disk that failed
`;

export const MAIN_HELP: string = `
From one instrument order to a neck that is ready for frets: geometry, holding, programs for both sides, proof and paper.

  1. check   is the order sound? Nothing is written.
  2. make    design, holding, programs for both sides, proof of those programs, sheets: one folder.
  3. prove   the proof again, from the programs as they now lie in the folder.
  4. serve   the folder's report in a browser on this machine.

Examples:
  neckwright check examples/loan-guitar.order.json
  neckwright make examples/loan-guitar.order.json --shop examples/stiff-router.shop.json --out out/loan-guitar
  neckwright prove out/loan-guitar

An order (NAME.order.json) says what is to be built; a shop (NAME.shop.json) says what machine and cutters there are.
Start from a copy of one in examples/. Lengths are millimetres, or text with a unit: "25 1/2 in".
${EXIT_CODES}
A program that was proved can still meet a wrong zero, a blunt cutter or a blank that moves. The machine's manual, local
rules and trained people come first; run every program in air before it meets wood.
`;

export const CHECK_HELP: string = `
Reads the order, and with --shop the machine and the cutters, and says what is wrong with them: by rule, place, value,
limit and what to try; and what the neck means: pull, relief, rod, cents, moisture, mass, feel, each with its band.
--figures lists all of them, and what other woods would do; --beside another order's figures next to them. Writes nothing.

Examples:
  neckwright check my.order.json
  neckwright check my.order.json --shop examples/light-router.shop.json --json
  neckwright check my.order.json --figures --beside last.order.json
${EXIT_CODES}`;

export const MAKE_HELP: string = `
Writes the folder DIR in one swap: the old one stays until the new one is whole.
  job.json       everything needed to check the programs without this software
  programs/      NN-SIDE-CUT.ngc, in the order of work
  proof.json     what the proof measured
  sheets/        the run sheet to work from (PDF)
  drawings/      plan, side and sections (SVG)
  report.html    all of it on one page
  order.json, shop.json   the files it was made from
When a finding says "stop", programs and run sheet are left out, unless the order overrides that rule by name and gives a
reason; the sheets then say so. A folder that holds anything make did not write is not replaced without --replace.

What was computed is kept, and taken again only for the same inputs and the same version of this program: of a changed order
only what the change reaches is computed. NECKWRIGHT_CACHE names the folder ("off": none), NECKWRIGHT_CACHE_MB its size (2000).

Examples:
  neckwright make my.order.json --shop my.shop.json --out out/my
  neckwright make my.order.json --shop my.shop.json --out out/my --cell 0.2 --paper Letter
${EXIT_CODES}`;

export const PROVE_HELP: string = `
Repeats the proof of a folder that make wrote, from the text of the programs as they lie there now, also when somebody
changed them by hand. Reads only; --report FILE writes the report of this proof beside. A proof of the very same bytes by the
same version of this program is taken from the cache; --no-cache runs it again.

Examples:
  neckwright prove out/my
  neckwright prove out/my --cell 0.05 --report check.html
${EXIT_CODES}`;

export const DRAW_HELP: string = `
Writes the drawings of an order as SVG into DIR, true to scale: plan, side, sections, headstock; with a shop also the blank
as it lies on the bed for both sides. Other files in DIR stay as they are.

Examples:
  neckwright draw my.order.json --out drawings
  neckwright draw my.order.json --shop my.shop.json --out drawings
${EXIT_CODES}`;

export const EXPORT_HELP: string = `
Writes files into DIR, each whole or not at all; other files in DIR stay as they are. Kinds:
  dxf        DXF R12 in mm, layers named by what they are: plan, profile, headstock face, gauges
  svg        the same drawings true to scale
  pdf        the same as templates at 1:1, cut into sheets of the paper, with register marks and check bars
  frets-csv  fret table for a spreadsheet: places, slot lengths and depths, wire lengths and bend
  frets-pdf  the same on paper
  nut        the nut's blank, its slots, their widths and angles (PDF)
  marking    marking out the blank, the scarf, the laminate (PDF)
  rollers    drilling guide for a slotted headstock (PDF)
  stl, 3mf   the finished neck as a mesh
  step       the finished neck as a solid with real surfaces
Without --as all that this neck has. A design with a finding that says "stop" is still drawn; every sheet and file then says
that it is not for cutting, and the exit code is 1.

Examples:
  neckwright export my.order.json --out exports
  neckwright export my.order.json --as dxf,frets-csv --out exports
  neckwright export my.order.json --as pdf,nut --paper Letter --shop my.shop.json
${EXIT_CODES}`;

export const FRETS_HELP: string = `
Prints the fret table: the distance of every fret from the nut and from the fret before, the ends of its slot, and what an
error there costs in cents. --strings: cents by fret for every string, before and after compensation, and where nut and
saddle should stand.

Examples:
  neckwright frets my.order.json
  neckwright frets my.order.json --csv > frets.csv
  neckwright frets my.order.json --strings
${EXIT_CODES}`;

export const SERVE_HELP: string = `
Serves on this machine only (127.0.0.1) until Ctrl-C, and prints the address. With --shop-folder: the bench, where orders of that folder are
changed, drawn, checked, made and proved; what is made lies in its folder jobs/. With a made folder instead: that folder's report, read-only.
With --lan a tablet at the machine can use the bench too. It has to be paired once: the code is printed here, and shown with a QR code at the
page /devices of the machine that serves, where a device's key is also withdrawn. Without --cert and --key what goes over the network can
be read by others on it. What is refused is printed.

Examples:
  neckwright serve --shop-folder my-shop
  neckwright serve --shop-folder my-shop --lan
  neckwright serve out/my --port 8080 --no-open
${EXIT_CODES}`;

export const STIFFNESS_HELP: string = `
Without options: what the shop says of each axis, and how to measure it step by step with a spring scale and a dial indicator,
by hand, spindle off. With readings: computes N/mm by least squares over them and stores it in the shop file with the date; nothing
else in the file changes. Readings that cannot be are refused.

Examples:
  neckwright stiffness my.shop.json
  neckwright stiffness my.shop.json --axis x --force "20 N" --moved "0.08 mm" --force "40 N" --moved "0.15 mm"
${EXIT_CODES}`;

export const COUPON_HELP: string = `
Writes a small proved program that cuts a row of recesses into a piece of scrap, each 0.05 mm wider than the one before, exactly as
marker recesses are cut, and a sheet that says how to hold it and how to choose. The choice is stored for that cutter in the shop file;
recesses that it makes are then so much wider or narrower than ordered.

Examples:
  neckwright coupon my.shop.json --cutter 3 --recess "6.05 mm" --out coupon
  neckwright coupon my.shop.json --cutter 3 --recess "6.05 mm" --chose 4
${EXIT_CODES}`;

export const JIG_HELP: string = `
Writes the programs of a location plate: sheet stock with a hole for every pin of both sides, bored to the fit asked for by ISO 286
zone, with both zeros and the places of the supports marked on its face; a sheet that says how to make and use it, and a dimensioned
drawing. The turned blank lies on the same ground as before; pins of the side that is not being cut are pulled. Nothing is written that
is not proved.

Examples:
  neckwright jig my.order.json --shop my.shop.json --out plate
  neckwright jig my.order.json --shop my.shop.json --out plate --fit H8 --sheet "900 x 200 x 18"
${EXIT_CODES}`;

export const PLACE_HELP: string = `
Without --at: the margin of the neck where the order has it in its blank, and the best there is, along the datum edge and turned as far
as the grain lets it, each with the bound that proves it. With --at, once for each station: what you measured after the scribe, from
the scribed line to the datum edge and to the far edge, square across the neck; stations count from the nut. Readings that cannot be
are refused with the reason. With --touch, three times: places of the board side's program touched on the blank as it lies there, two on the datum edge far apart and one
on the headstock end, the tool's radius taken off. --store puts the best place into the order, with date and reason: along the datum edge where the margin is met there, else (or with --turned) turned as far as the grain allows; with --out its programs
are made, posted with all corrections in force, and proved into that folder. --undo takes the last correction back. A neck that is cut in sections is not turned: plane a new datum edge.
Not done yet: --at for a blank given by its corners, or probed outlines; make still holds the neck's
new place against the blank as ordered, so where that one is too narrow it says so.

Examples:
  neckwright place my.order.json --shop my.shop.json
  neckwright place my.order.json --shop my.shop.json --at=-80:22.5:23 --at 250:34.1:33.6 --at 440:31:31.5
  neckwright place my.order.json --shop my.shop.json --touch 60:0.2 --touch 600:0.9 --touch 0.4:50
  neckwright place my.order.json --shop my.shop.json --at=-80:22.5:23 --at 440:31:31.5 --store --out moved
${EXIT_CODES}`;

export const CORRECT_HELP: string = `
What you measured, and what it changes, before and after. Readings that cannot be are refused with the reason. Nothing is stored without
--store; then the entry stands in the file with date and reason, programs made from it are written and proved with it, and the sheets
show it. Without a word for what was measured: all corrections of the file. --undo takes the last one back; the entry stays, marked.

  axes     a rectangle scribed by the machine, all four sides and both diagonals, from line to line
  cutter   a slot cut in one pass, across its middle; the cutter itself by calliper
  turn     how far the carve side's marks stand from the board side's, along x and y of the carve program; with --mark at two marks or
           more, one near each end, also how far the piece lies askew
  height   the thickness after a first pass, and what it was to be
  blank    the wood as it lies there, where it is thinner or thicker than ordered

What to cut for it, each a proved program and a form to print:
  pattern  the rectangle for axes, scribed 0.4 mm deep into a flat sheet
  slot     the slot for cutter
  witness  for turn, from a made folder: two holes from the board side, a ring about each from the carve side, in the blank's waste

Examples:
  neckwright correct my.shop.json pattern --cutter 6 --size "400 x 150" --out pattern
  neckwright correct my.shop.json axes --size "400 x 150" --x 400.8 --x 400.7 --y 149.6 --y 149.5 --diagonal 427.1 --diagonal 428.0
  neckwright correct my.shop.json cutter --cutter 2 --slot 6.08 --calliper 6.00 --store
  neckwright correct my.order.json turn --y=-0.3 --store
  neckwright correct my.order.json turn --mark=60:-60:0.1:-0.3 --mark=650:-60:0.1:0.5 --store
  neckwright correct out/my witness --cutter 9 --scribe 6 --out witness
  neckwright correct my.order.json height --side carve --expected 21.0 --measured 21.3 --store
  neckwright correct my.order.json blank --shaft 31.2 --store
  neckwright correct my.order.json --list
${EXIT_CODES}`;

export const BATCH_HELP: string = `
Lays the made necks side by side, orders the work of all of them by cutter with as few changes as can be (each keeps its own order of work), and
writes programs that cut them together, with one zero, one run sheet and the place of every piece. Every program is run over every piece's own
wood: its own cuts must not touch the others or what holds them, the others' cuts must touch nothing of it, and at the end its wood is what its
own proved programs leave, within 0.005 mm. What is not proved is not written. All pieces are made for one shop.
--without N: a piece that failed stays where it lies and nothing of it is cut; the other programs keep their numbers.

Examples:
  neckwright batch out/a out/a out/b --out batch
  neckwright batch out/a out/a out/b --out batch-rest --without 2
${EXIT_CODES}`;

export const PLANK_HELP: string = `
Lays the blanks of the orders, all along the grain, into one plank so that the least of its length is used: the rest stays whole. What is kept
out (knots, checks, sapwood, figure for something else) is given by corners, from the plank's first end and its lower edge; the upright box round them counts. It
says whether no arrangement uses less (searched to the end), or the bound that is proved, and whether straight cuts part the blanks. The plank is a rectangle: of
a tapered or waney one give the largest rectangle, or keep its corners out.

Examples:
  neckwright plank a.order.json a.order.json b.order.json --plank "2400 x 260 x 45" --out plank
  neckwright plank a.order.json b.order.json --plank "1800 x 150 x 30" --keep-out "300,100 340,150" --kerf "3 mm"
${EXIT_CODES}`;

export const RECORD_HELP: string = `
Keeps what happens to one piece at the machine: which programs were cut (by hash), which corrections were in force, what was measured, how
long it took. A plain file beside the order, NAME-rN.run.json, that only grows; a shop's memory takes it over with --into, once or again.
Measurements are held against what was ordered: inches for millimetres, a slipped point, stations or frets that changed places are refused
with the reason; --sure writes down what is really so.

Examples:
  neckwright record out/my --begin --by Kim
  neckwright record out/my --done 1 --done 2 --minutes "2=14"
  neckwright record out/my --thickness "fret 1=20.9" --thickness "fret 12=23.1" --fret "5=163.2" --fret "12=324.1"
  neckwright record out/my --done again/08-board-fret-slots-from-364.ngc
  neckwright record out/my --show
${EXIT_CODES}`;

export const RESUME_HELP: string = `
After a stop (a broken cutter, a lost step, no current): writes a program that goes on there, and a sheet of what must be so before it is run.
It begins at the beginning of one of the program's own moves, some way before the place you name, comes down slowly where the cutter has
stood before, and then makes the program's own moves to its end. It is proved against the wood as it stands at that moment: no contact, and
at the end the same wood within 0.005 mm. When it is not proved it is not written. When you do not know how far it came, name an earlier place.

A cutter of the same size that sticks out otherwise: --reach. A cutter of another size: --cutter, by its number in the shop; the cut is then
planned anew and made again from its beginning, and the whole side is proved against the neck, or it is refused with the reason.
A lost zero: touch features again and give what the machine shows there with --found: pins, "edge" (datum edge), "end" (at the stop), "bed",
"top", and bores that are cut already. The program is moved by what the zero is off.
A batch's folder goes on as a batch: one program from there on for all pieces that are left in it, and all that follow, with their run sheet,
proved against the wood of every piece. --without N: piece N drops out and stays where it lies. --piece "2=DIR": its folder lies elsewhere now.

Examples:
  neckwright resume out/my --program 8 --list
  neckwright resume out/my --program 08-board-fret-slots --at "line 1234" --out again
  neckwright resume out/my --program 8 --at "cut fret-slots pass 14" --reach "17 mm" --out again
  neckwright resume out/my --program 9 --at "position 320.5,41.2,18" --found "tuner-3=101.3,44.2" --found edge=0.35 --out again
  neckwright resume batch --program 5 --at "cut p2-board-outline pass 7" --without 2 --out batch-rest
${EXIT_CODES}`;

export const BUDGET_HELP: string = `
Adds up what makes a neck come out otherwise than planned: pins, datum edge, zero, axes, cutters, blank. For margin, step between the
sides, thickness, frets and cents: what 99 of 100 seeded trials stay within, the worst case, and what contributes most.

Example:
  neckwright budget my.order.json --shop my.shop.json
${EXIT_CODES}`;

export const BACKUP_HELP: string = `
Writes one ZIP with everything of a shop's folder: orders and shops as they stand, every version they ever had, cutters, runs, photographs,
drawings, what was made. Also while the bench is running. The file is restored once beside itself and compared before the command says
that it is there. An existing file is not written over. Links are not followed.

Example:
  neckwright backup my-shop --out my-shop-2026-03-01.zip
${EXIT_CODES}`;

export const RESTORE_HELP: string = `
Makes a new shop's folder from a backup. Every file is held against the SHA-256 it was backed up with, the database against its content, before
the folder appears: it stands whole or not at all. Nothing is restored over a folder that has something in it.

Example:
  neckwright restore my-shop-2026-03-01.zip --out my-shop-again
${EXIT_CODES}`;
