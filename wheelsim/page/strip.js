// The wheel laid out flat: position, tension and turns over one axis of spokes, and a key to turn each nipple.
// It draws what it is given and says what was touched; every number comes from the server.
const LEFT = 42, RIGHT = 2, KEY = 44, GAP = 4;
const POSITION = [10, 122], TENSION = [140, 306], TURNS = [316, 356], KEYS = [364, 412], HIGH = 462;
const DRAG = 22;  // px for one step more

const scale = ([top, bottom], low, high) => (value) => bottom - ((value - low) / (high - low)) * (bottom - top);
const line = (points) => points.map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`).join(" ");

export default {
  template: `
  <div class="flat" ref="flat" tabindex="-1">
    <svg class="strip" :class="{ read: !face.turnable }" :width="wide" :height="high" role="group"
         :aria-label="face.says" @click="nearest">
      <rect class="limits" :x="left" :width="end - left" :y="at(face.mean + face.true_limit / 2)"
            :height="at(face.mean - face.true_limit / 2) - at(face.mean + face.true_limit / 2)" />
      <polygon v-if="face.outlook" class="outlook" :points="outlook" />
      <line v-for="y in [face.target - face.gap_limit / 2, face.target + face.gap_limit / 2]" class="limit"
            :x1="left" :x2="end" :y1="at(y)" :y2="at(y)" />
      <line class="axis" :x1="left" :x2="end" :y1="at(face.target)" :y2="at(face.target)" />
      <polyline v-if="face.was" class="was" :points="path(face.was)" />
      <polyline class="rim" :points="path(face.now)" />
      <text class="scale" :x="left - 4" :y="position[0] + 10">{{ mm(top) }}</text>
      <text class="scale" :x="left - 4" :y="at(face.target) + 5">mm</text>
      <text class="scale" :x="left - 4" :y="position[1]">{{ mm(bottom) }}</text>
      <text class="word" :x="left + 4" :y="position[0] + 8">right</text>
      <text class="word" :x="left + 4" :y="position[1] + 2">left</text>

      <rect v-if="face.highest" class="outlook" :x="left" :width="end - left" :y="pull(face.highest[1])"
            :height="Math.max(pull(face.highest[0]) - pull(face.highest[1]), 2)" />
      <line class="axis" :x1="left" :x2="end" :y1="pull(0)" :y2="pull(0)" />
      <g v-for="one in face.lines" :key="one.word">
        <line :class="one.kind" :x1="left" :x2="end" :y1="pull(one.value)" :y2="pull(one.value)" />
        <text class="scale" :x="left - 4" :y="pull(one.value) + 5">{{ one.text }}</text>
      </g>
      <g v-for="i in n" :key="i">
        <template v-if="face.tension[i - 1] !== null">
          <line :class="'stem ' + side(i)" :x1="x(i)" :x2="x(i)" :y1="pull(0)" :y2="pull(face.tension[i - 1])" />
          <circle v-if="side(i) === 'right'" class="right" :cx="x(i)" :cy="pull(face.tension[i - 1])" r="5" />
          <rect v-else class="left" :x="x(i) - 4.5" :y="pull(face.tension[i - 1]) - 4.5" width="9" height="9" />
        </template>
        <text v-if="face.wrong[i]" class="wrong" :transform="beside(i)">{{ face.wrong[i] }}</text>
        <line v-if="shown(i)" class="turn" :x1="x(i)" :x2="x(i)" :y1="turn(0)" :y2="turn(shown(i))" />
      </g>
      <template v-for="one in face.lines">
        <text v-if="one.word" class="word" :x="left + 4" :y="pull(one.value) - 4">{{ one.word }}</text>
      </template>
      <line class="axis" :x1="left" :x2="end" :y1="turn(0)" :y2="turn(0)" />
      <text class="scale" :x="left - 4" :y="turn(0) + 5">turns</text>
      <text v-if="!face.turnable" v-for="i in n" class="number" :x="x(i)" :y="keys[0] + 10">{{ i }}</text>

      <template v-if="face.turnable">
        <text v-for="(word, row) in ['right', 'left']" class="row" x="1" :y="keys[row] + 26">{{ word }}</text>
        <g v-for="i in n" :key="'key' + i" class="key" :class="{ gone: face.missing.includes(i), chosen: chosen(i) }" role="button"
           :data-spoke="i" :tabindex="i === stop ? 0 : -1" :aria-label="face.names[i - 1]"
           :aria-disabled="face.missing.includes(i)" :aria-pressed="face.chosen ? chosen(i) : null" @focus="stop = i"
           @click.stop="tapped(i)" @keydown="typed($event, i)" @pointerdown="down($event, i)"
           @pointermove="moved" @pointerup="up" @pointercancel="drop">
          <rect class="reach" :x="span(i)[0] - 2" :y="keys[side(i) === 'right' ? 0 : 1]" :width="span(i)[1] + 4" height="44" />
          <rect :class="side(i)" :x="span(i)[0]" :y="keys[side(i) === 'right' ? 0 : 1]" :width="span(i)[1]" height="44"
                rx="5" />
          <text class="number" :x="span(i)[0] + span(i)[1] / 2"
                :y="keys[side(i) === 'right' ? 0 : 1] + (tried(i) ? 18 : 27)">{{ i }}</text>
          <text v-if="tried(i)" class="tried" :x="span(i)[0] + span(i)[1] / 2"
                :y="keys[side(i) === 'right' ? 0 : 1] + 36">{{ tried(i) }}</text>
        </g>
      </template>
    </svg>
  </div>`,
  props: { face: Object },
  emits: ["turn"],
  data: () => ({ across: 700, stop: 1, drag: null, position: POSITION, keys: KEYS, left: LEFT }),
  mounted() {
    this.watch = new ResizeObserver((seen) => { this.across = Math.floor(seen[0].contentRect.width); });
    this.watch.observe(this.$refs.flat);
  },
  unmounted() { this.watch.disconnect(); },
  computed: {
    n() { return this.face.sides.length; },
    high() { return this.face.turnable ? HIGH : KEYS[0] + 16; },
    ends() { return this.face.turnable ? 0.5 : 0; },  // the last key stands out by half a spoke
    wide() {
      return Math.max(this.across, this.face.turnable ? LEFT + RIGHT + this.least * (this.n + 0.5) : 0);
    },
    step() { return (this.wide - LEFT - RIGHT) / (this.n + this.ends); },
    end() { return LEFT + this.step * this.n; },
    spans() {  // of each key, in spokes: to midway between it and the next ones of its side
      const out = Array(this.n);
      for (const side of ["R", "L"]) {
        const own = [...this.face.sides].flatMap((one, i) => (one === side ? [i + 0.5] : []));
        own.forEach((place, k) => {
          const [last, next] = [own[k - 1], own[k + 1]];
          const before = last === undefined ? Math.max(2 * place - (place + next) / 2, -0.5) : (place + last) / 2;
          const after = next === undefined ? Math.min(2 * place - before, this.n + 0.5) : (place + next) / 2;
          out[place - 0.5] = [before, after - before];
        });
      }
      return out;
    },
    least() { return Math.max(...this.spans.map(([, span]) => KEY / span)) || 1; },
    top() { return this.face.target + this.face.reach; },
    bottom() { return this.face.target - this.face.reach; },
    outlook() {
      const [low, high] = this.face.outlook;
      return line([...high.map((v, i) => [this.x(i + 1), this.at(v)]),
                   ...low.map((v, i) => [this.x(i + 1), this.at(v)]).reverse()]);
    },
  },
  methods: {
    x(i) { return LEFT + this.step * (i - 0.5); },
    at(value) { return scale(POSITION, this.bottom, this.top)(value); },
    pull(value) { return scale(TENSION, 0, this.face.most)(value); },
    turn(value) { return scale(TURNS, -this.face.turn_reach, this.face.turn_reach)(value); },
    mm(value) { return (value > 0 ? "+" : value < 0 ? "\u2212" : "") + Math.abs(value).toFixed(1); },
    path(values) {
      return line(values.flatMap((v, i) => (v === null ? [] : [[this.x(i + 1), this.at(v)]])));
    },
    side(i) { return this.face.sides[i - 1] === "R" ? "right" : "left"; },
    span(i) {
      const [from, span] = this.spans[i - 1];
      return [LEFT + this.step * from + GAP / 2, this.step * span - GAP];
    },
    beside(i) {  // upright in the room to the next spoke, its end at the height of the tension
      const foot = Math.min(Math.max(this.pull(this.face.tension[i - 1] || 0) + 66, TENSION[0] + 70), TENSION[1] - 2);
      return `translate(${this.x(i) + this.step / 2 + 4},${foot}) rotate(-90)`;
    },
    chosen(i) { return (this.face.chosen || []).includes(i); },
    shown(i) { return this.drag && this.drag.spoke === i ? this.drag.from + this.drag.turns : this.face.turns[i - 1]; },
    tried(i) {
      if (this.drag && this.drag.spoke === i && this.drag.steps) return (this.drag.steps > 0 ? "+" : "\u2212") +
        Math.abs(this.drag.steps);
      return this.face.tried[i] || "";
    },
    nearest(event) {  // a tap into the picture is a tap on the spoke under it
      if (!this.face.turnable) return;
      const x = event.clientX - this.$el.querySelector("svg").getBoundingClientRect().left;
      const i = Math.floor((x - LEFT) / this.step) + 1;
      if (i >= 1 && i <= this.n) this.$emit("turn", { spoke: i, steps: 1, way: 0 });
    },
    tapped(i) {
      if (this.dragged) { this.dragged = false; return; }
      this.$emit("turn", { spoke: i, steps: 1, way: 0 });
    },
    typed(event, i) {
      const go = { ArrowRight: i % this.n + 1, ArrowLeft: (i + this.n - 2) % this.n + 1, Home: 1, End: this.n }[event.key];
      const way = { "+": 1, ArrowUp: 1, "-": -1, ArrowDown: -1 }[event.key];
      if (go) {
        this.stop = go;
        this.$nextTick(() => this.$el.querySelector(`[data-spoke="${go}"]`).focus());
      } else if (way) this.$emit("turn", { spoke: i, steps: 1, way });
      else if (event.key === "Enter" || event.key === " ") this.tapped(i);
      else return;
      event.preventDefault();
    },
    down(event, i) {
      if (this.face.missing.includes(i) || this.face.chosen) return;
      this.dragged = false;
      this.drag = { spoke: i, y: event.clientY, steps: 0, turns: 0, from: this.face.turns[i - 1] };
      event.currentTarget.setPointerCapture(event.pointerId);
    },
    moved(event) {
      if (!this.drag) return;
      const steps = Math.trunc((this.drag.y - event.clientY) / DRAG);
      this.drag.steps = steps;
      this.drag.turns = steps * this.face.step;
    },
    up() {
      const drag = this.drag;
      this.drag = null;
      if (!drag || !drag.steps) return;
      this.dragged = true;  // the click that follows is none
      this.$emit("turn", { spoke: drag.spoke, steps: Math.abs(drag.steps), way: Math.sign(drag.steps) });
    },
    drop() { this.drag = null; },
  },
};
