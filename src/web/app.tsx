import { memo, type ReactElement, useCallback, useContext, useEffect, useLayoutEffect, useMemo, useRef, useState } from "react";
import { neckOf, parseShop } from "../job/live.ts";
import type { Finding } from "../units/index.ts";
import type { Shelf } from "./api.ts";
import { jobFile, openDrawing } from "./api.ts";
import { BlankPage } from "./blank/blank-page.tsx";
import { Conflict, type Keep } from "./conflict.tsx";
import { useCuts } from "./cuts.tsx";
import { becoming, change, goTo, type Json, type Path, redo, undo, valueAt } from "./document.ts";
import { useDrawer } from "./drawer/use-drawer.ts";
import { Findings } from "./findings.tsx";
import { History } from "./history.tsx";
import { HistoryPage, type Laid } from "./history-page.tsx";
import { HoldingPage } from "./holding/holding-page.tsx";
import { useWork } from "./job-panel.tsx";
import { type LongHand, LongView } from "./long-view.tsx";
import { MemoryPage } from "./memory/memory-page.tsx";
import { keepOffline } from "./offline/register.ts";
import { PAGES, type Page, PageBody } from "./pages.tsx";
import { usePlayed } from "./playback/played.tsx";
import { usePlayback } from "./playback/use-playback.ts";
import type { Papers } from "./run/keeping.tsx";
import { RunPage } from "./run/run-page.tsx";
import { keepSettings, readSettings, type Settings, SettingsContext, useSay } from "./settings.tsx";
import { SpaceView } from "./space/space-view.tsx";
import { type BenchActions, type Open, type OpenShop, type Saving, useBench } from "./state.ts";
import { useThought } from "./thinker/use-thought.ts";
import { Walk } from "./walk.tsx";
import { LANGUAGES, type Language } from "./words.ts";

export function App(): ReactElement {
  const [settings, setSettings] = useState<Settings>(readSettings);
  useEffect(() => {
    keepSettings(settings);
    document.documentElement.lang = settings.language;
    document.documentElement.dataset.theme = settings.slate ? "slate" : "paper";
  }, [settings]);
  return (
    <SettingsContext value={settings}>
      <Bench settings={settings} setSettings={setSettings} />
    </SettingsContext>
  );
}

function Bench(p: { readonly settings: Settings; readonly setSettings: (s: Settings) => void }): ReactElement {
  const say = useSay();
  const [state, act] = useBench();
  const begun = state.open !== null || state.failure !== null;
  useEffect(() => {
    if (begun) keepOffline();
  }, [begun]);
  if (state.failure !== null)
    return (
      <main className="alone" role="alert">
        <h1>{say("failed")}</h1>
        <p>{state.failure}</p>
      </main>
    );
  if (state.shelf === null) return <main className="alone">{say("loading")} …</main>;
  if (state.shelf.orders.length === 0) return <main className="alone">{say("noOrders")}</main>;
  return (
    <>
      <Head
        {...p}
        shelf={state.shelf}
        order={state.open?.name ?? ""}
        shop={state.shop?.name ?? ""}
        choose={act.choose}
        chooseShop={act.chooseShop}
      />
      {state.open !== null && (
        <Desk
          key={state.open.name}
          open={state.open}
          shop={state.shop}
          edit={act.edit}
          settle={act.settle}
          changeShop={act.changeShop}
          reload={act.reload}
        />
      )}
    </>
  );
}

interface HeadProps extends Pick<BenchActions, "choose" | "chooseShop"> {
  readonly shelf: Shelf;
  readonly order: string;
  readonly shop: string;
  readonly settings: Settings;
  readonly setSettings: (s: Settings) => void;
}

/** Which order and shop are open, and how this person likes the screen. */
const Head: React.MemoExoticComponent<(p: HeadProps) => ReactElement> = memo(function Head(p: HeadProps): ReactElement {
  const say = useSay();
  return (
    <header>
      <h1>Neckwright</h1>
      <label>
        <span className="unseen">{say("order")}</span>
        <select value={p.order} onChange={(e) => void p.choose(e.target.value)}>
          {p.shelf.orders.map((o) => (
            <option key={o.name} value={o.name}>
              {o.title}
            </option>
          ))}
        </select>
      </label>
      <label>
        {say("shop")}{" "}
        <select value={p.shop} onChange={(e) => void p.chooseShop(e.target.value === "" ? null : e.target.value)}>
          <option value="">{say("noShop")}</option>
          {p.shelf.shops.map((s) => (
            <option key={s}>{s}</option>
          ))}
        </select>
      </label>
      <span className="room" />
      <label>
        {say("units")}{" "}
        <select value={p.settings.inches ? "in" : "mm"} onChange={(e) => p.setSettings({ ...p.settings, inches: e.target.value === "in" })}>
          <option>mm</option>
          <option>in</option>
        </select>
      </label>
      <label>
        <span className="unseen">{say("theme")}</span>
        <select
          value={p.settings.slate ? "slate" : "paper"}
          onChange={(e) => p.setSettings({ ...p.settings, slate: e.target.value === "slate" })}
        >
          <option value="paper">{say("paper")}</option>
          <option value="slate">{say("slate")}</option>
        </select>
      </label>
      <label>
        <span className="unseen">{say("language")}</span>
        <select value={p.settings.language} onChange={(e) => p.setSettings({ ...p.settings, language: e.target.value as Language })}>
          {Object.entries(LANGUAGES).map(([key, name]) => (
            <option key={key} value={key} lang={key}>
              {name}
            </option>
          ))}
        </select>
      </label>
    </header>
  );
});

const NONE: readonly string[] = [];
const NO_FINDINGS: readonly Finding[] = [];

interface MarginProps {
  readonly page: Page;
  readonly setPage: (page: Page) => void;
  readonly saving: Saving;
}

/** The pages in the order of the work, and whether what was changed is kept. */
const Margin: React.MemoExoticComponent<(p: MarginProps) => ReactElement> = memo(function Margin(p: MarginProps): ReactElement {
  const say = useSay();
  return (
    <nav aria-label={say("bench")}>
      <ol>
        {PAGES.map(([id]) => (
          <li key={id}>
            <button type="button" aria-current={id === p.page ? "page" : undefined} onClick={() => p.setPage(id)}>
              {say(id)}
            </button>
          </li>
        ))}
      </ol>
      <Walk go={p.setPage} />
      <p className={`saving ${p.saving}`} role="status">
        {p.saving === "saved" ? say("saved") : p.saving === "saving" ? say("saving") : p.saving === "away" ? say("notSaved") : ""}
      </p>
    </nav>
  );
});

interface DeskProps {
  readonly open: Open;
  readonly shop: OpenShop | null;
  readonly changeShop: (f: (text: string) => string) => Promise<void>;
  readonly reload: () => Promise<void>;
  readonly edit: BenchActions["edit"];
  readonly settle: (keep: readonly Keep[]) => void;
}

function Desk({ open, shop, edit, settle, changeShop, reload }: DeskProps): ReactElement {
  const say = useSay();
  const [page, setPage] = useState<Page>("neck");
  const [station, setStation] = useState(0);
  const { slate, language } = useContext(SettingsContext);
  const [inSpace, setInSpace] = useState(false);
  const [chosen, setChosen] = useState<Finding | null>(null);
  const { file } = open.doc;
  const asked = JSON.stringify(valueAt(file, ["headstock", "outline", "drawing"]) ?? null);
  const [drawing, setDrawing] = useState<Uint8Array | null>(null);
  // read again when the order names another drawing and the server knows of it
  // biome-ignore lint/correctness/useExhaustiveDependencies: the mark says that the server has the order that names it
  useEffect(() => {
    let gone = false;
    if (asked !== "null")
      openDrawing(open.name).then(
        (bytes) => {
          if (!gone) setDrawing(bytes);
        },
        () => undefined,
      );
    return () => {
      gone = true;
    };
  }, [asked, open.name, open.mark]);
  const [beside, setBeside] = useState<number | null>(null);
  // on the page of versions two of those are held against each other
  const [laid, setLaid] = useState<Laid | null>(null);
  const strips = page !== "run" && page !== "memory";
  // while a value is dragged a thread beside this one makes the neck and draws it, where nothing but the strips shows it
  const drawer = useDrawer(drawing, file);
  const alone = strips && !inSpace && page !== "blank" && page !== "holding" && beside === null && laid === null;
  const following = open.moving && alone && drawer.ready;
  const hand = useRef<LongHand | null>(null);
  const drag = useRef({ begun: false, id: 0 });
  const { ask } = drawer;
  useLayoutEffect(() => {
    const look = following ? hand.current?.look() : undefined;
    if (look === undefined) {
      drag.current = { begun: false, id: drag.current.id + 1 };
      return;
    }
    const { begun, id } = drag.current;
    drag.current = { begun: true, id };
    // what belongs to an earlier drag comes too late
    ask(file, look, !begun, (answer) => {
      if (drag.current.id === id) hand.current?.put(answer);
    });
  }, [file, following, ask]);
  const drawn = useMemo(() => (following ? null : neckOf(file, drawing)), [file, drawing, following]);
  const { thought, stale, failed } = useThought(file, shop?.text ?? null, drawing);
  // the last neck stays while a value cannot be understood, and while another thread draws
  const kept = useRef(drawn);
  if (drawn !== null) kept.current = drawn;
  const neck = kept.current;
  // read where something is kept in it
  const shopText = page === "run" ? (shop?.text ?? null) : null;
  const shopSpec = useMemo(() => (shopText === null ? null : (parseShop(shopText).value ?? null)), [shopText]);
  const papers: Papers | null =
    neck === null ? null : { file, neck, shop: shopSpec, setOrder: (next) => edit((d) => becoming(d, next)), changeShop };
  const other = laid !== null ? laid.beside : beside === null ? null : goTo(open.doc, beside).file;
  const laidFile = laid?.shown ?? null;
  const laidNeck = useMemo(() => (laidFile === null ? null : neckOf(laidFile, drawing)), [laidFile, drawing]);
  const otherNeck = useMemo(() => (other === null ? null : neckOf(other, drawing)), [other, drawing]);
  const necks = useMemo(() => (neck === null || otherNeck === null ? null : { now: neck, beside: otherNeck }), [neck, otherNeck]);
  const work = useWork(open.name, shop?.name ?? null);
  // a drag is one line of the history, written when it rests
  const logged = useRef(open.doc);
  if (!open.moving) logged.current = open.doc;

  // the made folder is read and cut once a page is opened that shows it
  const [watched, setWatched] = useState(false);
  useEffect(() => {
    if (page === "cuts" || page === "proof") setWatched(true);
  }, [page]);
  const made = watched && work.job !== null && work.job.programs.length > 0 ? (work.state?.id ?? null) : null;
  const player = usePlayback(jobFile(open.name, ""), made);
  const played = usePlayed(player, open.name, made);
  const cuts = useCuts(player, work.job, work.proof, open.name);
  const over = page === "proof" && made !== null ? played.over : page === "cuts" ? cuts.over : null;

  const set = useCallback(
    (path: Path, value: Json | undefined, drag = false): void => edit((d) => change(d, path, value, drag), drag),
    [edit],
  );
  const override = useCallback(
    (rule: string, reason: string): void =>
      edit((d) => {
        const now = valueAt(d.file, ["overrides"]);
        return change(d, ["overrides"], [...(Array.isArray(now) ? (now as readonly Json[]) : []), { rule, reason }]);
      }),
    [edit],
  );
  const fileNow = useRef(file);
  fileNow.current = file;
  const standsAt = useCallback((path: Path) => valueAt(fileNow.current, path), []);
  const goToFinding = useCallback((f: Finding): void => {
    setChosen(f);
    if (f.at !== undefined && f.at.side === undefined) setStation(f.at.x);
  }, []);
  useEffect(() => {
    const keys = (e: globalThis.KeyboardEvent): void => {
      if (!(e.ctrlKey || e.metaKey) || e.target instanceof HTMLInputElement || e.target instanceof HTMLTextAreaElement) return;
      if (e.key === "z" && !e.shiftKey) edit(undo);
      else if (e.key === "y" || (e.key === "z" && e.shiftKey)) edit(redo);
      else return;
      e.preventDefault();
    };
    globalThis.addEventListener("keydown", keys);
    return () => globalThis.removeEventListener("keydown", keys);
  }, [edit]);
  // what making found stands here as long as the order is the one that was made; what is checked live is not said twice
  const fresh = work.state?.orderMark === open.mark;
  const live = thought?.findings ?? NO_FINDINGS;
  const findings = useMemo(() => {
    const madeFindings = fresh ? [...(work.job?.findings ?? []), ...(work.proof?.findings ?? [])] : [];
    return [...live, ...madeFindings.filter((f) => !live.some((l) => l.rule === f.rule && l.where === f.where))];
  }, [fresh, work.job, work.proof, live]);
  const toSpace = useCallback(() => setInSpace(true), []);

  return (
    <div className={page === "run" ? "desk running" : page === "memory" ? "desk papers" : "desk"}>
      <Margin page={page} setPage={setPage} saving={open.saving} />
      <main>
        {open.saving === "conflict" && open.theirs !== null && (
          <Conflict key={open.theirs.mark} theirs={open.theirs} file={file} settle={settle} />
        )}
        {neck !== null && inSpace && strips && (
          <SpaceView
            key={slate ? "slate" : "paper"}
            neck={neck}
            holding={thought?.holding ?? null}
            player={player}
            side={played.side}
            seconds={played.seconds}
            back={() => setInSpace(false)}
          />
        )}
        {neck !== null && !inSpace && strips && (
          <LongView
            toSpace={toSpace}
            neck={laidNeck ?? neck}
            moving={open.moving}
            following={following}
            hand={hand}
            over={over}
            beside={otherNeck}
            findings={findings}
            station={station}
            setStation={setStation}
            chosen={chosen}
            choose={setChosen}
          />
        )}
        <div className="below">
          <section className="page" aria-label={say(page)}>
            <h2>{say(page)}</h2>
            <PageBody
              page={page}
              file={file}
              set={set}
              work={work}
              open={open}
              shop={shop?.name ?? null}
              neck={neck}
              figures={thought?.figures ?? []}
              stale={stale}
            >
              {page === "blank" && neck !== null ? (
                <BlankPage order={open.name} file={file} drawing={drawing} neck={neck} holding={thought?.holding ?? null} set={set} />
              ) : page === "holding" && neck !== null && thought?.holding != null ? (
                <HoldingPage file={file} neck={neck} holding={thought.holding} job={work.job} set={set} />
              ) : page === "run" && neck !== null && work.job !== null ? (
                <RunPage
                  order={open.name}
                  shop={shop?.name ?? work.state?.shop ?? work.job.shop.name}
                  job={work.job}
                  proof={work.proof}
                  neck={neck}
                  holding={thought?.holding ?? null}
                  fresh={fresh}
                  papers={papers as Papers}
                />
              ) : page === "past" ? (
                <HistoryPage order={open.name} file={file} mark={open.mark} take={(v) => set([], v)} lay={setLaid} />
              ) : page === "memory" ? (
                <MemoryPage
                  order={open.name}
                  shop={shop?.name ?? null}
                  file={file}
                  blank={neck?.order.blank ?? null}
                  set={set}
                  reload={() => void reload()}
                />
              ) : page === "cuts" ? (
                cuts.panel()
              ) : page === "proof" && made !== null ? (
                played.panel()
              ) : null}
            </PageBody>
          </section>
          <aside>
            <h2>
              {say("findings")} <small>{say(thought === null || stale ? "reckoning" : thought.sound ? "sound" : "stopped")}</small>
            </h2>
            {language !== "en" && (
              <p className="where">
                <small>{say("inEnglish")}</small>
              </p>
            )}
            {failed && (
              <p className="refusal" role="alert">
                {say("notChecked")}
              </p>
            )}
            <Findings
              findings={findings}
              chosen={chosen}
              choose={goToFinding}
              valueAt={standsAt}
              set={set}
              override={override}
              overridden={thought?.overridden ?? NONE}
            />
            <History doc={logged.current} edit={edit} beside={beside} setBeside={setBeside} necks={necks} />
          </aside>
        </div>
      </main>
    </div>
  );
}
