import {
  AmbientLight,
  Box3,
  BoxGeometry,
  BufferAttribute,
  BufferGeometry,
  Color,
  CylinderGeometry,
  DirectionalLight,
  DoubleSide,
  EdgesGeometry,
  ExtrudeGeometry,
  Group,
  LatheGeometry,
  LineBasicMaterial,
  LineSegments,
  Matrix4,
  Mesh,
  MeshLambertMaterial,
  type Object3D,
  PerspectiveCamera,
  Scene,
  Shape,
  Vector2,
  Vector3,
  WebGLRenderer,
} from "three";
import { OrbitControls } from "three/examples/jsm/controls/OrbitControls.js";
import type { Side, Solid } from "../../job/live.ts";

/* Neck, wood, blank and holding in space. Drawn when something has changed, never by itself. Everything stands in the neck's frame. */

export interface Tones {
  readonly paper: string;
  readonly ink: string;
  readonly accent: string;
  readonly wood: string;
}

export type Part = "body" | "blank" | "holding" | "cutter";

export class Viewer {
  private readonly renderer: WebGLRenderer;
  private readonly scene = new Scene();
  private readonly camera = new PerspectiveCamera(32, 1, 5, 6000);
  private readonly controls: OrbitControls;
  private readonly parts = new Map<Part, Object3D>();
  private readonly watch: ResizeObserver;
  private readonly box: HTMLElement;
  private waiting = 0;
  private readonly tones: Tones;
  /** Milliseconds of script that the last frames took, newest last. */
  readonly spent: number[] = [];

  constructor(box: HTMLElement, tones: Tones) {
    this.box = box;
    this.tones = tones;
    this.renderer = new WebGLRenderer({ antialias: true });
    this.renderer.setPixelRatio(Math.min(2, globalThis.devicePixelRatio || 1));
    box.append(this.renderer.domElement);
    this.renderer.domElement.setAttribute("aria-hidden", "true");
    this.camera.up.set(0, 0, 1);
    this.controls = new OrbitControls(this.camera, this.renderer.domElement);
    this.controls.enableDamping = false;
    this.controls.addEventListener("change", () => this.draw());
    const sun = new DirectionalLight(0xffffff, 2.1);
    sun.position.set(-300, -500, 900);
    const under = new DirectionalLight(0xffffff, 0.9);
    under.position.set(300, 400, -700);
    this.scene.add(new AmbientLight(0xffffff, 1.1), sun, under);
    this.scene.background = new Color(tones.paper);
    this.watch = new ResizeObserver(() => this.fit());
    this.watch.observe(box);
    this.fit();
  }

  /** Wood or neck from triangles. */
  body(triangles: Float32Array): void {
    const g = new BufferGeometry();
    g.setAttribute("position", new BufferAttribute(triangles, 3));
    g.computeVertexNormals();
    const isFirst = !this.parts.has("body");
    this.take("body", new Mesh(g, new MeshLambertMaterial({ color: this.tones.wood, flatShading: true })));
    if (isFirst) this.look();
  }

  /** The blank's edges and what holds it, of one side; null takes both away. */
  held(side: Side | null, shows: { readonly blank: boolean; readonly holding: boolean }): void {
    if (side === null || !shows.blank) this.take("blank", null);
    else {
      const { min, max } = side.stock;
      const g = new BoxGeometry(max[0] - min[0], max[1] - min[1], max[2] - min[2]);
      g.translate((min[0] + max[0]) / 2, (min[1] + max[1]) / 2, (min[2] + max[2]) / 2);
      this.take("blank", placed(side, new LineSegments(new EdgesGeometry(g), new LineBasicMaterial({ color: this.tones.ink }))));
    }
    if (side === null || !shows.holding) this.take("holding", null);
    else {
      const all = new Group();
      for (const s of side.holding) {
        const g = shapeOf(s);
        all.add(new Mesh(g, new MeshLambertMaterial({ color: this.tones.paper, transparent: true, opacity: 0.75, side: DoubleSide })));
        all.add(new LineSegments(new EdgesGeometry(g, 30), new LineBasicMaterial({ color: this.tones.ink })));
      }
      this.take("holding", placed(side, all));
    }
  }

  /** The cutter in its holder at a place of a side; null takes it away. */
  cutter(side: Side | null, tip: readonly [number, number, number], outline: readonly (readonly [number, number])[]): void {
    if (side === null || outline.length < 2) {
      this.take("cutter", null);
      return;
    }
    const g = new LatheGeometry([new Vector2(0, 0), ...outline.map(([h, r]) => new Vector2(r, h))], 28);
    g.rotateX(Math.PI / 2);
    g.translate(...tip);
    const m = new Mesh(g, new MeshLambertMaterial({ color: this.tones.accent, side: DoubleSide, transparent: true, opacity: 0.45 }));
    this.take("cutter", placed(side, m));
  }

  /** Looks at everything: from above the treble side by default, or along the directions given. */
  look(from: readonly [number, number, number] = [-0.25, -0.75, 0.62]): void {
    const box = new Box3();
    for (const o of this.parts.values()) box.expandByObject(o);
    if (box.isEmpty()) return;
    const centre = box.getCenter(new Vector3());
    const size = box.getSize(new Vector3()).length();
    this.controls.target.copy(centre);
    // nearly level with the wide side: the whole length has to fit the width
    const reach = (0.7 * size) / Math.tan((this.camera.fov * Math.PI) / 360) / Math.max(1, this.camera.aspect);
    this.camera.position.copy(centre).addScaledVector(new Vector3(...from).normalize(), reach);
    this.controls.update();
    this.draw();
  }

  /** Turns by angles (rad) about the upright and the level axis, moves nearer by a factor. */
  turn(about: number, over: number, nearer = 1): void {
    const { target } = this.controls;
    const v = this.camera.position.clone().sub(target);
    v.applyAxisAngle(new Vector3(0, 0, 1), about);
    const level = new Vector3().crossVectors(new Vector3(0, 0, 1), v).normalize();
    const up = Math.asin(v.z / v.length());
    const most = Math.PI / 2 - 0.02;
    v.applyAxisAngle(level, -(Math.max(-most, Math.min(most, up + over)) - up));
    this.camera.position.copy(target).addScaledVector(v, 1 / nearer);
    this.controls.update();
    this.draw();
  }

  close(): void {
    cancelAnimationFrame(this.waiting);
    this.watch.disconnect();
    for (const part of [...this.parts.keys()]) this.take(part, null);
    this.controls.dispose();
    this.renderer.dispose();
    this.renderer.domElement.remove();
  }

  private take(part: Part, object: Object3D | null): void {
    const old = this.parts.get(part);
    if (old !== undefined) {
      this.scene.remove(old);
      old.traverse((o) => {
        if (o instanceof Mesh || o instanceof LineSegments) {
          (o.geometry as BufferGeometry).dispose();
          (o.material as LineBasicMaterial).dispose();
        }
      });
      this.parts.delete(part);
    }
    if (object !== null) {
      this.parts.set(part, object);
      this.scene.add(object);
    }
    this.draw();
  }

  private fit(): void {
    const { clientWidth: w, clientHeight: h } = this.box;
    if (w === 0 || h === 0) return;
    this.renderer.setSize(w, h);
    this.camera.aspect = w / h;
    this.camera.updateProjectionMatrix();
    this.draw();
  }

  private draw(): void {
    if (this.waiting !== 0) return;
    this.waiting = requestAnimationFrame(() => {
      this.waiting = 0;
      const from = performance.now();
      this.renderer.render(this.scene, this.camera);
      this.spent.push(performance.now() - from);
      if (this.spent.length > 120) this.spent.shift();
    });
  }
}

/** Moves an object of a side's program frame to where it stands about the neck. */
function placed(side: Side, object: Object3D): Object3D {
  const m = side.neckToProgram;
  object.applyMatrix4(new Matrix4().set(m[0], m[1], m[2], m[3], m[4], m[5], m[6], m[7], m[8], m[9], m[10], m[11], 0, 0, 0, 1).invert());
  return object;
}

function shapeOf(s: Solid): BufferGeometry {
  if (s.kind === "box") {
    const g = new BoxGeometry(s.max[0] - s.min[0], s.max[1] - s.min[1], s.max[2] - s.min[2]);
    g.translate((s.min[0] + s.max[0]) / 2, (s.min[1] + s.max[1]) / 2, (s.min[2] + s.max[2]) / 2);
    return g;
  }
  if (s.kind === "cylinder") {
    const g = new CylinderGeometry(s.diameter / 2, s.diameter / 2, s.zMax - s.zMin, 24);
    g.rotateX(Math.PI / 2);
    g.translate(s.x, s.y, (s.zMin + s.zMax) / 2);
    return g;
  }
  const g = new ExtrudeGeometry(new Shape(s.points.map(([x, y]) => new Vector2(x, y))), { depth: s.zMax - s.zMin, bevelEnabled: false });
  g.translate(0, 0, s.zMin);
  return g;
}
