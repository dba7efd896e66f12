import { Argument, Command, CommanderError, InvalidArgumentError, Option } from "commander";
import pkg from "../../package.json" with { type: "json" };
import { Cancelled, DiskError, InputError } from "../job/errors.ts";
import type { BatchOptions } from "./commands/batch.ts";
import type { CorrectOptions, What } from "./commands/correct.ts";
import type { CouponCliOptions } from "./commands/coupon.ts";
import type { ExportOptions } from "./commands/export.ts";
import type { JigCliOptions } from "./commands/jig.ts";
import type { MakeOptions } from "./commands/make.ts";
import type { PlaceOptions } from "./commands/place.ts";
import type { PlankCliOptions } from "./commands/plank.ts";
import type { ProveOptions } from "./commands/prove.ts";
import type { RecordOptions } from "./commands/record.ts";
import type { ResumeOptions } from "./commands/resume.ts";
import type { ServeOptions } from "./commands/serve.ts";
import type { StiffnessOptions } from "./commands/stiffness.ts";
import {
  BACKUP_HELP,
  BATCH_HELP,
  BUDGET_HELP,
  CHECK_HELP,
  CORRECT_HELP,
  COUPON_HELP,
  DRAW_HELP,
  EXPORT_HELP,
  FRETS_HELP,
  JIG_HELP,
  MAIN_HELP,
  MAKE_HELP,
  PLACE_HELP,
  PLANK_HELP,
  PROVE_HELP,
  RECORD_HELP,
  RESTORE_HELP,
  RESUME_HELP,
  SERVE_HELP,
  STIFFNESS_HELP,
} from "./help.ts";
import { type Io, paint } from "./io.ts";
import { EXIT, type ExitCode } from "./outcome.ts";

function between(min: number, max: number, whole: boolean, unit: string): (text: string) => number {
  return (text) => {
    const value = Number(text);
    if (text.trim() === "" || !Number.isFinite(value) || value < min || value > max || (whole && !Number.isInteger(value))) {
      throw new InvalidArgumentError(`It is a ${whole ? "whole " : ""}number from ${min} to ${max}${unit}.`);
    }
    return value;
  };
}

/** Kinds of export as --as takes them; the job has the same list (tested), loaded only when it is asked for. */
export const KINDS = ["dxf", "svg", "pdf", "frets-csv", "frets-pdf", "nut", "marking", "rollers", "stl", "3mf", "step"] as const;

/** A list of words, each one of those given; repeats are one. */
function oneOrMore<T extends string>(words: readonly T[]): (text: string) => T[] {
  return (text) => {
    const given = text.split(",").map((w) => w.trim());
    const wrong = given.find((w) => !words.includes(w as T));
    if (wrong !== undefined) throw new InvalidArgumentError(`"${wrong}" is none of ${words.join(", ")}.`);
    return [...new Set(given as T[])];
  };
}

const jsonOption = (): Option => new Option("--json", "print one JSON document instead of text");
const cellOption = (): Option =>
  new Option("--cell <mm>", "cell of the proof's stock maps; finer is slower").argParser(between(0.02, 2, false, " mm"));
const cacheOptions = (command: Command): Command =>
  command
    .option("--cache <dir>", "where results are kept to be taken again (default: this system's folder for caches)")
    .option("--no-cache", "make everything anew, keep nothing");
const workersOption = (): Option => new Option("--workers <n>", "threads; 0 uses none").argParser(between(0, 16, true, ""));

/** Runs one command line (without node and script). Never throws; everything ends in an exit code. */
export async function run(argv: readonly string[], io: Io): Promise<ExitCode> {
  let code: ExitCode = EXIT.sound;
  const json = argv.includes("--json");
  const set =
    <A extends unknown[]>(action: (...args: A) => Promise<ExitCode>) =>
    async (...args: A): Promise<void> => {
      code = await action(...args);
    };

  // each command is loaded when it is asked for: what prints a fret table need not wait for the PDF writer
  const program = new Command("neckwright")
    .description("From one instrument order to proved programs for its neck.")
    .version(pkg.version)
    .exitOverride()
    .configureOutput({
      writeOut: (s) => io.out(s),
      writeErr: (s) => io.err(s),
      getOutHasColors: () => io.colour,
      getErrHasColors: () => io.colour,
    })
    .showSuggestionAfterError()
    .addHelpText("after", MAIN_HELP);
  const command = (usage: string, says: string, help: string): Command =>
    program.command(usage).description(says).addHelpText("after", help).allowExcessArguments(false);

  command("check", "say what is wrong with an order", CHECK_HELP)
    .argument("<order>", "NAME.order.json")
    .option("--shop <file>", "NAME.shop.json: also check against machine and cutters")
    .option("--figures", "say all that the neck means, each figure with its band; without it a short list")
    .option("--beside <file>", "NAME.order.json of another neck: its figures beside these, girth and section above all")
    .addOption(jsonOption())
    .action(
      set(async (order: string, o: { shop?: string; beside?: string; json?: true; figures?: true }) =>
        (await import("./commands/check.ts")).check(io, order, o),
      ),
    );

  cacheOptions(command("make", "design, plan, write and prove a job folder", MAKE_HELP))
    .argument("<order>", "NAME.order.json")
    .requiredOption("--shop <file>", "NAME.shop.json: machine and cutters")
    .requiredOption("--out <dir>", "the folder to write")
    .addOption(cellOption().default(0.1))
    .addOption(new Option("--paper <size>", "paper of the sheets").choices(["A4", "Letter"]).default("A4"))
    .addOption(workersOption())
    .option("--replace", "replace DIR even when it holds files that make did not write")
    .addOption(jsonOption())
    .action(set(async (order: string, o: MakeOptions) => (await import("./commands/make.ts")).make(io, order, o)));

  cacheOptions(command("prove", "repeat the proof of a made folder", PROVE_HELP))
    .argument("<dir>", "a folder that make wrote")
    .addOption(cellOption())
    .addOption(workersOption())
    .option("--report <file>", "write the report of this proof (HTML)")
    .addOption(jsonOption())
    .action(set(async (dir: string, o: ProveOptions) => (await import("./commands/prove.ts")).prove(io, dir, o)));

  command("draw", "write the drawings of an order", DRAW_HELP)
    .argument("<order>", "NAME.order.json")
    .requiredOption("--out <dir>", "the folder to write into")
    .option("--shop <file>", "NAME.shop.json: also the blank as it lies on the bed")
    .addOption(jsonOption())
    .action(
      set(async (order: string, o: { out: string; shop?: string; json?: true }) => (await import("./commands/draw.ts")).draw(io, order, o)),
    );

  command("export", "write files for other programs and for the bench", EXPORT_HELP)
    .argument("<order>", "NAME.order.json")
    .addOption(new Option("--as <kinds>", "what to write, separated by commas (default: all that apply)").argParser(oneOrMore(KINDS)))
    .option("--out <dir>", "the folder to write into", "exports")
    .addOption(new Option("--paper <size>", "paper of the sheets").choices(["A4", "Letter"]).default("A4"))
    .option("--shop <file>", "NAME.shop.json: also what lies on the shelf, and where the blank lies")
    .addOption(jsonOption())
    .action(set(async (order: string, o: ExportOptions) => (await import("./commands/export.ts")).exportFiles(io, order, o)));

  command("frets", "print the fret table of an order", FRETS_HELP)
    .argument("<order>", "NAME.order.json")
    .addOption(new Option("--csv", "comma-separated, for a spreadsheet").conflicts("json"))
    .option("--strings", "cents by fret and string, before and after compensation")
    .addOption(jsonOption())
    .action(
      set(async (order: string, o: { csv?: true; json?: true; strings?: true }) =>
        (await import("./commands/frets.ts")).frets(io, order, o),
      ),
    );

  command("serve", "serve a made folder's report, or the bench over a shop's folder, on this machine", SERVE_HELP)
    .argument("[dir]", "a folder that make wrote")
    .addOption(new Option("--shop-folder <dir>", "a folder of NAME.order.json and NAME.shop.json: serves the bench"))
    .option("--port <n>", "port; 0 for any free one", between(0, 65535, true, ""))
    .option("--no-open", "do not open a browser")
    .option("--lan", "with --shop-folder: also for paired devices on the workshop's network")
    .option("--cert <file>", "with --lan: certificate (PEM), for TLS")
    .option("--key <file>", "with --lan: the certificate's key (PEM)")
    .addOption(workersOption())
    .addOption(jsonOption())
    .action(set(async (dir: string | undefined, o: ServeOptions) => (await import("./commands/serve.ts")).serve(io, dir, o)));

  const repeat = (text: string, before: string[] | undefined): string[] => [...(before ?? []), text];
  command("stiffness", "measure how stiff the machine is, and store it in the shop", STIFFNESS_HELP)
    .argument("<shop>", "NAME.shop.json")
    .addOption(new Option("--axis <axis>", "the axis that was pushed").choices(["x", "y", "z"]))
    .addOption(new Option("--force <force>", 'a push, like "20 N" or "2 kg"; repeat for more readings').argParser(repeat))
    .addOption(new Option("--moved <length>", 'what the indicator showed, like "0.08 mm"; one for each force').argParser(repeat))
    .option("--date <day>", "when it was measured; today if left out")
    .option("--note <text>", "how it was measured; the readings if left out")
    .addOption(jsonOption())
    .action(set(async (shop: string, o: StiffnessOptions) => (await import("./commands/stiffness.ts")).stiffness(io, shop, o)));

  command("coupon", "cut a row of recesses to choose a fit from, and store the choice", COUPON_HELP)
    .argument("<shop>", "NAME.shop.json")
    .requiredOption("--cutter <n>", "number of the cutter in the shop", between(1, 999, true, ""))
    .requiredOption("--recess <length>", 'diameter of the recess as ordered (marker and fit), like "7.05 mm"')
    .option("--depth <length>", "how deep", "2.5 mm")
    .option("--from <length>", "first allowance", "-0.1 mm")
    .option("--to <length>", "last allowance, in steps of 0.05 mm", "0.2 mm")
    .option("--wood <name>", "the scrap's wood, as orders name it", "hard maple")
    .option("--scrap <size>", 'length x width x thickness, like "140 x 40 x 12"; as small as can be if left out')
    .option("--out <dir>", "the folder to write program and sheet into")
    .addOption(new Option("--paper <size>", "for the sheet").choices(["A4", "Letter"]).default("A4"))
    .option("--chose <k>", "store the allowance of this position in the shop", between(1, 99, true, ""))
    .option("--date <day>", "when it was chosen; today if left out")
    .addOption(jsonOption())
    .action(set(async (shop: string, o: CouponCliOptions) => (await import("./commands/coupon.ts")).coupon(io, shop, o)));

  command("jig", "write and prove the programs of a plate that locates the blank on both sides", JIG_HELP)
    .argument("<order>", "NAME.order.json")
    .requiredOption("--shop <file>", "NAME.shop.json")
    .requiredOption("--out <dir>", "the folder to write programs, sheet and drawing into")
    .option("--fit <zone>", "ISO 286 zone of the pin holes", "H7")
    .option("--pin <zone>", "ISO 286 zone of the pins, for the clearance", "h6")
    .option("--sheet <size>", 'thickness of the sheet, or length x width x thickness, like "900 x 200 x 18"', "18 mm")
    .option("--cutter <n>", "number of the cutter for the holes; the widest that fits if left out", between(1, 999, true, ""))
    .addOption(new Option("--paper <size>", "for the sheet").choices(["A4", "Letter"]).default("A4"))
    .addOption(jsonOption())
    .action(set(async (order: string, o: JigCliOptions) => (await import("./commands/jig.ts")).jig(io, order, o)));

  command("place", "where the neck lies best in its blank, also after measuring the scribe", PLACE_HELP)
    .argument("<order>", "NAME.order.json")
    .requiredOption("--shop <file>", "NAME.shop.json")
    .addOption(
      new Option("--at <x:datum:far>", "a station and the distances from the scribed outline to both edges; repeat").argParser(repeat),
    )
    .addOption(
      new Option("--touch <x:y>", "a place of the board program touched on the blank: two on the datum edge, one on the end").argParser(
        repeat,
      ),
    )
    .option("--store", "store the best place in the order: along the datum edge where that has the margin, else turned")
    .option("--turned", "with --store: the best place turned, even where none is needed")
    .option("--out <dir>", "with --store: make and prove the programs for it into this folder")
    .addOption(cellOption())
    .option("--undo", "take back the order's last correction")
    .option("--date <day>", "when it was measured; today if left out")
    .option("--reason <text>", "why; the readings if left out")
    .addOption(jsonOption())
    .action(set(async (order: string, o: PlaceOptions) => (await import("./commands/place.ts")).place(io, order, o)));

  command("correct", "put right what was measured at the machine: axes, cutters, the turned piece, its height, its blank", CORRECT_HELP)
    .argument("<file>", "NAME.shop.json for axes and cutters, NAME.order.json for one piece")
    .addArgument(
      new Argument("[what]", "what was measured, or the piece to be cut for it").choices([
        "axes",
        "cutter",
        "turn",
        "height",
        "blank",
        "pattern",
        "slot",
        "witness",
      ]),
    )
    .option("--size <size>", 'of the scribed pattern, along x by along y, like "400 x 150"')
    .addOption(new Option("--x <length>", "a side of the pattern along x, twice; or the step along x after turning").argParser(repeat))
    .addOption(new Option("--y <length>", "a side of the pattern along y, twice; or the step along y after turning").argParser(repeat))
    .addOption(
      new Option(
        "--mark <x:y:step-x:step-y>",
        "after turning: a mark of both sides by its place in the carve program, and the step there; twice",
      ).argParser(repeat),
    )
    .addOption(new Option("--diagonal <length>", "from the corner at the origin first, then the other").argParser(repeat))
    .option("--scale <length>", "scale of a neck, to say what axes change on it; 648 mm if left out")
    .option("--cutter <n>", "number of the cutter in the shop", between(1, 999, true, ""))
    .option("--scribe <n>", "for witness: number of the cutter that scribes the rings", between(1, 999, true, ""))
    .option("--slot <length>", "width of the test slot")
    .option("--calliper <length>", "the cutter's own width by calliper; the rest is running out of true")
    .addOption(new Option("--side <side>", "the side that was cut").choices(["board", "carve"]))
    .option("--expected <length>", "what was to be")
    .option("--measured <length>", "what it is")
    .option("--shaft <length>", "thickness of the shaft's wood")
    .option("--board <length>", "thickness of the board's wood")
    .option("--out <dir>", "for pattern and slot: the folder to write program and form into")
    .option("--wood <name>", "of the test piece, as orders name it; hard maple if left out")
    .option("--store", "store it in the file")
    .option("--list", "all corrections of the file")
    .option("--undo", "take back the last correction that counts")
    .option("--entry <n>", "with --undo: this one of the list", between(1, 200, true, ""))
    .option("--date <day>", "when it was measured; today if left out")
    .option("--reason <text>", "why; the readings if left out")
    .addOption(jsonOption())
    .action(
      set(async (file: string, what: What | undefined, o: CorrectOptions) =>
        (await import("./commands/correct.ts")).correct(io, file, what, o),
      ),
    );

  command("resume", "write and prove a program that goes on where another stopped", RESUME_HELP)
    .argument("<job>", "a folder that make or batch wrote, or NAME.order.json of a shop's folder")
    .requiredOption("--program <file>", "the program that stopped: its name or its number")
    .option("--at <place>", 'where: "line 1234", "cut NAME pass N" or "position X,Y,Z"')
    .option("--list", "the passes of the program, with their lines; nothing is written")
    .option("--out <dir>", "the folder to write program and sheet into")
    .option("--overlap <length>", "way at feed made again before that place; 10 mm if left out")
    .option("--cutter <n>", "number of the cutter that is in the spindle now", between(1, 999, true, ""))
    .option("--shop <file>", "NAME.shop.json with that cutter; the job's own if left out")
    .option("--reach <length>", "from tip to holder, as it sticks out now")
    .option("--flute <length>", "length of its cutting edges")
    .addOption(
      new Option("--found <feature=values>", 'a feature touched again, like "tuner-3=101.3,44.2" or "edge=0.35"; repeat').argParser(repeat),
    )
    .addOption(new Option("--without <n>", "of a batch: a piece that drops out; repeat").argParser(repeat))
    .addOption(new Option("--piece <n=dir>", "of a batch: where a piece's folder lies now; repeat").argParser(repeat))
    .addOption(cellOption())
    .addOption(jsonOption())
    .action(set(async (job: string, o: ResumeOptions) => (await import("./commands/resume.ts")).resume(io, job, o)));

  command("batch", "write and prove programs that cut several made necks on one bed", BATCH_HELP)
    .argument("<jobs...>", "folders that make wrote (or NAME.order.json of a shop's folder), one for each piece")
    .requiredOption("--out <dir>", "the folder to write")
    .addOption(
      new Option("--gap <mm>", "free way between one piece's cutters and the next piece")
        .argParser(between(2, 500, false, " mm"))
        .default(15),
    )
    .addOption(new Option("--without <n>", "a piece that dropped out; repeat").argParser(repeat))
    .addOption(cellOption().default(0.25))
    .addOption(jsonOption())
    .action(set(async (jobs: string[], o: BatchOptions) => (await import("./commands/batch.ts")).batch(io, jobs, o)));

  command("plank", "lay out the blanks of several orders in one plank, with the least of it used", PLANK_HELP)
    .argument("<orders...>", "NAME.order.json, one for each blank")
    .requiredOption("--plank <size>", 'length along the grain x width x thickness, like "2400 x 200 x 45"')
    .option("--kerf <length>", "wood that the saw takes", "4 mm")
    .option("--over <length>", "left on every edge of a blank for jointing", "3 mm")
    .addOption(
      new Option("--keep-out <corners>", 'a knot, a check, figure to be saved: corners like "300,100 340,150"; repeat').argParser(repeat),
    )
    .option("--out <dir>", "the folder to write drawing and figures into")
    .addOption(jsonOption())
    .action(set(async (orders: string[], o: PlankCliOptions) => (await import("./commands/plank.ts")).plank(io, orders, o)));

  command("record", "write down what was cut, with which corrections, and what came out", RECORD_HELP)
    .argument("<job>", "a folder that make wrote, or NAME.order.json of a shop's folder")
    .option("--begin", "begin another run: one piece at the machine")
    .option("--run <n>", "the run that is meant; the last if left out", between(1, 99999, true, ""))
    .addOption(new Option("--done <step>", "a program that was cut: number, name, or the file of one that went on").argParser(repeat))
    .addOption(new Option("--undone <step>", "takes a --done back").argParser(repeat))
    .addOption(new Option("--minutes <step=n>", "how long it took").argParser(repeat))
    .addOption(new Option("--thickness <station=length>", 'what came out, like "fret 5=21.6"; repeat').argParser(repeat))
    .addOption(new Option("--fret <n=length>", "from the nut's edge to the slot, along the centreline, like 5=163.2").argParser(repeat))
    .addOption(new Option("--at <x:datum:far>", "a station of the scribed outline, as place has it").argParser(repeat))
    .addOption(new Option("--note <text>", "anything else").argParser(repeat))
    .option("--sure", "write a measurement down though it looks wrong")
    .option("--by <name>", "who says so")
    .option("--list", "all runs of the order")
    .option("--show", "all of a run")
    .option("--into <folder>", "a shop's folder whose memory takes the run over")
    .addOption(jsonOption())
    .action(set(async (job: string, o: RecordOptions) => (await import("./commands/record.ts")).record(io, job, o)));

  command("budget", "how sure margin, thickness and frets are, and what contributes most", BUDGET_HELP)
    .argument("<order>", "NAME.order.json")
    .requiredOption("--shop <file>", "NAME.shop.json")
    .addOption(jsonOption())
    .action(set(async (order: string, o: { shop: string; json?: true }) => (await import("./commands/place.ts")).budget(io, order, o)));

  command("backup", "everything of a shop's folder, with all versions, in one file", BACKUP_HELP)
    .argument("<folder>", "a shop's folder")
    .requiredOption("--out <file>", "the file to write (ZIP)")
    .addOption(jsonOption())
    .action(set(async (folder: string, o: { out: string; json?: true }) => (await import("./commands/backup.ts")).backup(io, folder, o)));

  command("restore", "a backup as a new shop's folder", RESTORE_HELP)
    .argument("<file>", "a file that backup wrote")
    .requiredOption("--out <dir>", "the folder to make")
    .addOption(jsonOption())
    .action(
      set(async (file: string, o: { out: string; json?: true }) => (await import("./commands/backup.ts")).restoreFolder(io, file, o)),
    );

  try {
    await program.parseAsync(argv, { from: "user" });
    return code;
  } catch (error) {
    return report(io, error, json);
  }
}

/** Says what went wrong, in words and in the exit code. */
function report(io: Io, error: unknown, json: boolean): ExitCode {
  if (error instanceof CommanderError) {
    // help and version come this way too; commander has printed what there is to print
    return error.exitCode === 0 ? EXIT.sound : EXIT.badInput;
  }
  if (error instanceof Cancelled || io.signal.aborted) {
    io.err("Stopped. Nothing was written.\n");
    return EXIT.interrupted;
  }
  const known = error instanceof InputError || error instanceof DiskError;
  const code = error instanceof InputError ? EXIT.badInput : EXIT.internal;
  const says = error instanceof Error ? error.message : String(error);
  if (json) {
    const where = known ? error.where : "";
    const tryThis = known ? error.tryThis : "";
    io.out(`${JSON.stringify({ exitCode: code, error: { where, says, tryThis } }, null, 2)}\n`);
    return code;
  }
  if (known) {
    io.err(`${paint(io, ["bold", "red"], "error")}  ${error.where}: ${says}\n      Try: ${error.tryThis}\n`);
    return code;
  }
  io.err(`${paint(io, ["bold", "red"], "error")}  This is a defect of the program, not of your order: ${says}\n`);
  if (error instanceof Error && error.stack !== undefined) io.err(`${paint(io, "dim", error.stack)}\n`);
  return code;
}
