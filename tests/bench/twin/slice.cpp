// The limit that slicing and motion timing are measured against, in plain C++ with arrays of the same kind.
// Usage: slice MESH LAYER_MM ROUNDS: welded mesh (u32 vertices, u32 triangles, f32 positions, u32 corners) -> half-edge pairs, all layers as
// closed loops. slice --motion POINTS ROUNDS: one open path of f32 x, y pairs -> seconds. Prints one line of JSON with the times in ms.
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <ctime>
#include <string>
#include <vector>

using u32 = uint32_t;
using i32 = int32_t;

static double now() {
  timespec t;
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
  return 1e3 * t.tv_sec + 1e-6 * t.tv_nsec;
}

static std::vector<uint8_t> bytesOf(const char *name) {
  FILE *f = fopen(name, "rb");
  if (!f) exit(1);
  fseek(f, 0, SEEK_END);
  std::vector<uint8_t> bytes(ftell(f));
  rewind(f);
  if (fread(bytes.data(), 1, bytes.size(), f) != bytes.size()) exit(1);
  fclose(f);
  return bytes;
}

// Half-edges by their lower vertex, opposite directions paired in file order.
static std::vector<i32> pairsOf(const u32 *tri, u32 halfEdges, u32 vertices) {
  std::vector<u32> start(vertices + 2, 0), list(halfEdges);
  std::vector<i32> pair(halfEdges, -1);
  auto next = [](u32 h) { return h % 3 == 2 ? h - 2 : h + 1; };
  for (u32 h = 0; h < halfEdges; h++) start[std::min(tri[h], tri[next(h)]) + 2]++;
  for (u32 v = 2; v < vertices + 2; v++) start[v] += start[v - 1];
  for (u32 h = 0; h < halfEdges; h++) list[start[std::min(tri[h], tri[next(h)]) + 1]++] = h;
  for (u32 v = 0; v < vertices; v++) {
    for (u32 i = start[v]; i < start[v + 1]; i++) {
      u32 h = list[i];
      if (pair[h] >= 0) continue;
      for (u32 j = i + 1; j < start[v + 1]; j++) {
        u32 g = list[j];
        if (pair[g] >= 0 || tri[g] != tri[next(h)] || tri[next(g)] != tri[h]) continue;
        pair[h] = g;
        pair[g] = h;
        break;
      }
    }
  }
  return pair;
}

struct Loops {
  std::vector<double> xy;
  std::vector<u32> loopStart{0}, layerStart{0};
};

static Loops slice(const float *p, const u32 *tri, u32 triangles, u32 vertices, double layerMm) {
  std::vector<i32> pair = pairsOf(tri, 3 * triangles, vertices);
  double low = 1e300, high = -1e300;
  for (u32 h = 0; h < 3 * triangles; h++) {
    low = std::min(low, (double)p[3 * tri[h] + 2]);
    high = std::max(high, (double)p[3 * tri[h] + 2]);
  }
  i32 layers = std::max(1, (i32)std::floor((high - low) / layerMm + 0.5));
  std::vector<double> z(layers);
  for (i32 k = 0; k < layers; k++) z[k] = low + (k + 0.5) * layerMm;
  std::vector<i32> first(triangles), end(triangles), change(layers + 1, 0);
  auto above = [&](double v) {
    i32 k = std::clamp((i32)std::floor((v - low) / layerMm + 0.5), 0, layers);
    while (k > 0 && z[k - 1] > v) k--;
    while (k < layers && z[k] <= v) k++;
    return k;
  };
  for (u32 t = 0; t < triangles; t++) {
    double a = p[3 * tri[3 * t] + 2], b = p[3 * tri[3 * t + 1] + 2], c = p[3 * tri[3 * t + 2] + 2];
    first[t] = above(std::min(a, std::min(b, c)));
    end[t] = above(std::max(a, std::max(b, c)));
    change[first[t]]++;
    change[end[t]]--;
  }
  std::vector<u32> start(layers + 1, 0);
  i32 crossing = 0;
  for (i32 k = 0; k < layers; k++) {
    crossing += change[k];
    start[k + 1] = start[k] + crossing;
  }
  std::vector<u32> list(start[layers]), fill(start.begin(), start.end());
  for (u32 t = 0; t < triangles; t++)
    for (i32 k = first[t]; k < end[t]; k++) list[fill[k]++] = t;
  Loops out;
  out.xy.reserve(2 * list.size());
  std::vector<i32> seen(triangles, -1);
  for (i32 k = 0; k < layers; k++) {
    for (u32 s = start[k]; s < start[k + 1]; s++) {
      u32 t = list[s];
      if (seen[t] == k) continue;
      for (;;) {
        seen[t] = k;
        u32 o = 3 * t, a = 3 * tri[o], b = 3 * tri[o + 1], c = 3 * tri[o + 2];
        bool bUp = p[b + 2] >= z[k], cUp = p[c + 2] >= z[k];
        u32 from, to, up;
        if (p[a + 2] >= z[k]) {
          from = bUp ? b : a;
          to = bUp ? c : b;
          up = bUp || !cUp ? o + 2 : o + 1;
        } else {
          from = cUp ? c : b;
          to = cUp ? a : c;
          up = bUp ? o : o + 1;
        }
        double share = (z[k] - p[from + 2]) / ((double)p[to + 2] - p[from + 2]);
        out.xy.push_back(p[from] + share * ((double)p[to] - p[from]));
        out.xy.push_back(p[from + 1] + share * ((double)p[to + 1] - p[from + 1]));
        if (pair[up] < 0) break;
        t = pair[up] / 3;
        if (seen[t] == k) break;
      }
      out.loopStart.push_back(out.xy.size() / 2);
    }
    out.layerStart.push_back(out.loopStart.size() - 1);
  }
  return out;
}

// Corner limits by a speed kept through a right angle, backward pass, forward pass with trapezoid times.
static double motionSeconds(const float *xy, u32 points, double speed, double accel, double corner) {
  std::vector<double> length(points), speed2(points + 1);
  double top2 = speed * speed, right2 = (std::sqrt(2.0) - 1) * corner * corner, ux = 0, uy = 0;
  u32 n = 0;
  for (u32 i = 1; i < points; i++) {
    double dx = (double)xy[2 * i] - xy[2 * i - 2], dy = (double)xy[2 * i + 1] - xy[2 * i - 1];
    double l = std::sqrt(dx * dx + dy * dy);
    if (l == 0) continue;
    double vx = dx / l, vy = dy / l, c = -(ux * vx + uy * vy), limit2 = top2;
    if (c > -0.999999) {
      double s = std::sqrt(std::max(0.0, 0.5 * (1 - c)));
      limit2 = std::min(limit2, right2 * s / (1 - s));
    }
    speed2[n] = n == 0 ? 0 : limit2;
    length[n++] = l;
    ux = vx;
    uy = vy;
  }
  speed2[n] = 0;
  for (u32 i = n - 1; i > 0; i--) speed2[i] = std::min(speed2[i], speed2[i + 1] + 2 * accel * length[i]);
  double sum = 0, entry = 0;
  for (u32 i = 0; i < n; i++) {
    double exit = std::sqrt(std::min(speed2[i + 1], entry * entry + 2 * accel * length[i]));
    double ends2 = entry * entry + exit * exit, peak = std::sqrt(accel * length[i] + ends2 / 2);
    sum += peak <= speed ? (2 * peak - entry - exit) / accel
                         : (2 * speed - entry - exit) / accel + (length[i] - (2 * top2 - ends2) / (2 * accel)) / speed;
    entry = exit;
  }
  return sum;
}

int main(int argc, char **argv) {
  bool motion = std::string(argv[1]) == "--motion";
  std::vector<uint8_t> bytes = bytesOf(argv[motion ? 2 : 1]);
  int rounds = atoi(argv[3]);
  std::vector<double> times;
  double result = 0;
  size_t loops = 0;
  for (int r = 0; r < rounds; r++) {
    double from = now();
    if (motion) {
      result = motionSeconds((const float *)bytes.data(), bytes.size() / 8, 120, 3000, 10);
    } else {
      u32 vertices, triangles;
      memcpy(&vertices, bytes.data(), 4);
      memcpy(&triangles, bytes.data() + 4, 4);
      const float *p = (const float *)(bytes.data() + 8);
      Loops out = slice(p, (const u32 *)(p + 3 * vertices), triangles, vertices, atof(argv[2]));
      result = out.xy.size() / 2;
      loops = out.loopStart.size() - 1;
    }
    times.push_back(now() - from);
  }
  std::sort(times.begin(), times.end());
  printf("{\"ms\":%.3f,\"result\":%.6f,\"loops\":%zu}\n", times[times.size() / 2], result, loops);
}
