#include "makehuman_feet.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstdlib>
#include <fstream>
#include <functional>
#include <map>
#include <nlohmann/json.hpp>
#include <numeric>
#include <stdexcept>

namespace lastroom::test {
namespace {

/// The skin of the body: mm, x forward, y to the person's left, z up; the bone that moves each vertex most, and how far
/// the shape asked for lies from the base.
struct Body {
  Mesh mesh;
  std::vector<std::string> bone;
  std::vector<Vec3> shift;
};

std::string data_file(const char* name = "human.json") {
  const char* folder = std::getenv("LASTROOM_MAKEHUMAN");
  return folder ? std::string(folder) + "/" + name : std::string();
}

Body part_of(const Body& body, const std::function<bool(const Vec3&)>& wanted) {
  std::vector<std::uint8_t> keep;
  for (const Triangle& t : body.mesh.triangles)
    keep.push_back(std::all_of(t.begin(), t.end(), [&](std::uint32_t v) { return wanted(body.mesh.vertices[v]); }));
  std::vector<std::uint8_t> used(body.mesh.vertices.size(), 0);
  for (std::size_t i = 0; i < keep.size(); ++i)
    if (keep[i])
      for (std::uint32_t v : body.mesh.triangles[i]) used[v] = 1;
  Body part{submesh(body.mesh, keep), {}, {}};
  for (std::size_t v = 0; v < used.size(); ++v)
    if (used[v]) part.bone.push_back(body.bone[v]), part.shift.push_back(body.shift[v]);
  return part;
}

/// The package's shape targets: per target, in the order of the names, three 16-bit integers a vertex of the body, in
/// thousandths of the file's unit.
std::vector<Vec3> shift_by(const std::vector<BodyTarget>& targets, std::size_t vertices) {
  std::vector<Vec3> shift(vertices, Vec3::Zero());
  if (targets.empty()) return shift;
  std::ifstream list(data_file("targets.json")), file(data_file("targets.bin"), std::ios::binary);
  if (!list || !file)
    throw std::runtime_error("no MakeHuman targets: run tests/makehuman.sh DIR and set LASTROOM_MAKEHUMAN=DIR");
  const nlohmann::json names = nlohmann::json::parse(list)["targets"];  // an object: sorted by name
  for (const BodyTarget& target : targets) {
    const auto place = names.find("data/targets/" + target.name + ".target");
    if (place == names.end()) throw std::runtime_error("MakeHuman has no target " + target.name);
    std::vector<std::int16_t> row(3 * vertices);
    const auto bytes = static_cast<std::streamsize>(row.size() * sizeof(std::int16_t));
    file.seekg(std::distance(names.begin(), place) * bytes);
    if (!file.read(reinterpret_cast<char*>(row.data()), bytes)) throw std::runtime_error("targets.bin is cut off");
    for (std::size_t v = 0; v < vertices; ++v)  // decimetres, x left, y up, z forward
      shift[v] += 0.1 * target.weight * Vec3(row[3 * v + 2], row[3 * v], row[3 * v + 1]);
  }
  return shift;
}

/// three.js JSON, format 3: flat arrays; a face is [11, four corners, material, four uv]; four bones per vertex.
Body read_body(const std::vector<BodyTarget>& targets = {}) {
  std::ifstream in(data_file());
  if (!in) throw std::runtime_error("no MakeHuman data: run tests/makehuman.sh DIR and set LASTROOM_MAKEHUMAN=DIR");
  const nlohmann::json json = nlohmann::json::parse(in);
  Body body;
  const auto& xyz = json["vertices"];
  for (std::size_t i = 0; i + 2 < xyz.size(); i += 3)  // file: decimetres, x left, y up, z forward
    body.mesh.vertices.emplace_back(100.0 * xyz[i + 2].get<double>(), 100.0 * xyz[i].get<double>(),
                                    100.0 * xyz[i + 1].get<double>());
  const auto& faces = json["faces"];
  for (std::size_t i = 0; i + 9 < faces.size(); i += 10) {
    if (json["materials"][faces[i + 5].get<std::size_t>()]["DbgName"] != "body") continue;
    const auto corner = [&](std::size_t k) { return faces[i + 1 + k].get<std::uint32_t>(); };
    body.mesh.triangles.push_back({corner(0), corner(1), corner(2)});
    body.mesh.triangles.push_back({corner(0), corner(2), corner(3)});
  }
  for (std::size_t v = 0; v < body.mesh.vertices.size(); ++v)  // the file lists a vertex's strongest bone first
    body.bone.push_back(json["bones"][json["skinIndices"][4 * v].get<std::size_t>()]["name"].get<std::string>());
  body.shift = shift_by(targets, body.mesh.vertices.size());
  return part_of(body, [](const Vec3&) { return true; });  // leaves out the helpers' vertices
}

/// Every edge longer than `longest_mm` gets a vertex in its middle, again and again; nothing moves.
Body with_short_edges(Body body, double longest_mm) {
  Mesh& mesh = body.mesh;
  for (bool again = true; again;) {
    again = false;
    std::map<std::pair<std::uint32_t, std::uint32_t>, std::uint32_t> middles;
    const auto middle = [&](std::uint32_t a, std::uint32_t b) -> std::optional<std::uint32_t> {
      const Vec3 pa = mesh.vertices[a], pb = mesh.vertices[b];
      if ((pb - pa).norm() <= longest_mm) return std::nullopt;
      const auto [place, fresh] = middles.try_emplace(std::minmax(a, b), mesh.vertices.size());
      if (fresh) {
        mesh.vertices.push_back(0.5 * (pa + pb));
        body.bone.push_back(body.bone[a]);
        body.shift.push_back(0.5 * (body.shift[a] + body.shift[b]));
      }
      return place->second;
    };
    std::vector<Triangle> triangles;
    for (Triangle t : mesh.triangles) {
      // Turn the triangle so that its longest edge comes first: the cut is then the same from both sides of any edge.
      const auto length = [&](std::size_t k) { return (mesh.vertices[t[k]] - mesh.vertices[t[(k + 1) % 3]]).norm(); };
      std::size_t longest = 0;
      for (std::size_t k : {1u, 2u})
        if (length(k) > length(longest)) longest = k;
      std::rotate(t.begin(), t.begin() + static_cast<std::ptrdiff_t>(longest), t.end());
      const auto ab = middle(t[0], t[1]), bc = middle(t[1], t[2]), ca = middle(t[2], t[0]);
      again = again || ab;
      if (!ab) triangles.push_back(t);
      if (ab && ca) triangles.insert(triangles.end(), {{t[0], *ab, *ca}, {*ab, t[2], *ca}});
      if (ab && !ca) triangles.push_back({t[0], *ab, t[2]});
      if (ab && bc) triangles.insert(triangles.end(), {{*ab, t[1], *bc}, {*ab, *bc, t[2]}});
      if (ab && !bc) triangles.push_back({*ab, t[1], t[2]});
    }
    mesh.triangles = std::move(triangles);
  }
  return body;
}

/// One step of Loop's subdivision (Loop 1987): old vertices keep their index, each edge gets a vertex, which takes the
/// bone of one end. Rims follow the cubic spline rule. Leaves out the shift.
Body refined(const Body& coarse) {
  using Edge = std::pair<std::uint32_t, std::uint32_t>;
  struct EdgeInfo {
    std::uint32_t name = 0;
    std::vector<std::uint32_t> opposite;
  };
  std::map<Edge, EdgeInfo> edges;
  const auto& mesh = coarse.mesh;
  for (const Triangle& t : mesh.triangles)
    for (std::size_t k = 0; k < 3; ++k) edges[std::minmax(t[k], t[(k + 1) % 3])].opposite.push_back(t[(k + 2) % 3]);

  Body fine;
  const std::size_t n = mesh.vertices.size();
  std::vector<Vec3> ring(n, Vec3::Zero()), rim(n, Vec3::Zero());
  std::vector<double> ring_count(n, 0.0), rim_count(n, 0.0);
  for (const auto& [edge, info] : edges)
    for (const auto& [a, b] : {edge, Edge(edge.second, edge.first)}) {
      ring[a] += mesh.vertices[b], ring_count[a] += 1.0;
      if (info.opposite.size() == 1) rim[a] += mesh.vertices[b], rim_count[a] += 1.0;
    }
  for (std::size_t v = 0; v < n; ++v) {
    const Vec3& p = mesh.vertices[v];
    const double beta = 3.0 / (ring_count[v] > 3.0 ? 8.0 * ring_count[v] : 16.0);  // Warren's weights
    fine.mesh.vertices.push_back(rim_count[v] > 0.0 ? Vec3(0.75 * p + 0.25 * rim[v] / rim_count[v])
                                                    : Vec3((1.0 - ring_count[v] * beta) * p + beta * ring[v]));
  }
  fine.bone = coarse.bone;
  for (auto& [edge, info] : edges) {
    info.name = static_cast<std::uint32_t>(fine.mesh.vertices.size());
    const Vec3 ends = mesh.vertices[edge.first] + mesh.vertices[edge.second];
    fine.mesh.vertices.push_back(
        info.opposite.size() == 2
            ? Vec3(0.375 * ends + 0.125 * (mesh.vertices[info.opposite[0]] + mesh.vertices[info.opposite[1]]))
            : Vec3(0.5 * ends));
    fine.bone.push_back(coarse.bone[edge.first]);
  }
  for (const Triangle& t : mesh.triangles) {
    const auto middle = [&](std::size_t k) { return edges.at(std::minmax(t[k], t[(k + 1) % 3])).name; };
    const std::uint32_t ab = middle(0), bc = middle(1), ca = middle(2);
    for (const Triangle& small : {Triangle{t[0], ab, ca}, {t[1], bc, ab}, {t[2], ca, bc}, {ab, bc, ca}})
      fine.mesh.triangles.push_back(small);
  }
  return fine;
}

const Vec3* foremost(const Body& foot, const std::string& bone_start) {
  const Vec3* best = nullptr;
  for (std::size_t v = 0; v < foot.bone.size(); ++v)
    if (foot.bone[v].starts_with(bone_start) && (!best || foot.mesh.vertices[v].x() > best->x()))
      best = &foot.mesh.vertices[v];
  return best;
}

/// Rearmost skin of the heel; higher up the calf may stand out further.
Vec3 rearmost(const Mesh& mesh) {
  constexpr double kHeel_mm = 50.0;
  const double floor_mm = bounds(mesh).low.z();
  Vec3 best = Vec3::Constant(1e9);
  for (const Vec3& p : mesh.vertices)
    if (p.z() < floor_mm + kHeel_mm && p.x() < best.x()) best = p;
  return best;
}

/// Right form, foot frame: the axis runs from the rearmost point to the second toe's tip, and both depend on the axis.
void stand(Body& foot, Side side) {
  if (side == Side::left) foot.mesh = mirrored_y(std::move(foot.mesh));
  for (int turn = 0; turn < 20; ++turn) {
    const Vec3 heel = rearmost(foot.mesh);
    const Vec3 forward = *foremost(foot, "toe2") - heel;
    Motion upright = Motion::Identity();
    upright.linear() = Eigen::AngleAxisd(-std::atan2(forward.y(), forward.x()), Vec3::UnitZ()).toRotationMatrix();
    upright.translation() = -(upright.linear() * Vec3(heel.x(), heel.y(), bounds(foot.mesh).low.z()));
    foot.mesh = moved(std::move(foot.mesh), upright);
  }
}

/// Most inside and most outside skin between 55 % and 80 % of the length: where metatarsal heads are (A1: 70 to 77 %
/// for the first, A8: about 64 % for the fifth).
std::pair<std::size_t, std::size_t> joint_vertices(const Mesh& standing) {
  const double length_mm = bounds(standing).high.x();
  std::size_t first = 0, fifth = 0;
  Vec3 inside = Vec3::Zero(), outside = Vec3::Zero();
  for (std::size_t v = 0; v < standing.vertices.size(); ++v) {
    const Vec3& p = standing.vertices[v];
    if (p.z() > 60.0 || p.x() < 0.55 * length_mm || p.x() > 0.80 * length_mm) continue;
    if (p.y() > inside.y()) inside = p, first = v;
    if (p.y() < outside.y()) outside = p, fifth = v;
  }
  return {first, fifth};
}

}  // namespace

MadeFoot makehuman_foot(Side side, double leg_height_mm, const std::vector<BodyTarget>& targets) {
  const Body body = read_body(targets);
  const double floor_mm = bounds(body.mesh).low.z();
  const double sign = side == Side::left ? 1.0 : -1.0;
  // Cut higher than asked at first, because the coarse triangles of the leg are up to 90 mm long.
  const Body coarse = with_short_edges(
      part_of(body, [&](const Vec3& p) { return sign * p.y() > 0.0 && p.z() < floor_mm + leg_height_mm + 130.0; }),
      10.0);
  Body shaped = coarse;
  for (std::size_t v = 0; v < shaped.shift.size(); ++v) shaped.mesh.vertices[v] += coarse.shift[v];
  Body foot = refined(refined(coarse));
  const Mesh fine = refined(refined(shaped)).mesh;  // which vertices there are doesn't depend on where they lie
  for (std::size_t v = 0; v < fine.vertices.size(); ++v) foot.shift.push_back(fine.vertices[v] - foot.mesh.vertices[v]);
  foot = part_of(foot, [&](const Vec3& p) { return p.z() < floor_mm + leg_height_mm; });
  shaped = foot;
  for (std::size_t v = 0; v < foot.shift.size(); ++v) shaped.mesh.vertices[v] += foot.shift[v];
  for (Body* which : {&foot, &shaped}) stand(*which, side);

  // The same skin lies over the same bone in every shape.
  const auto [first, fifth] = joint_vertices(foot.mesh);
  MadeFoot made;
  made.heel = rearmost(shaped.mesh);
  for (std::size_t toe = 0; toe < 5; ++toe) made.toe_tips[toe] = *foremost(shaped, "toe" + std::to_string(toe + 1));
  made.first_joint = shaped.mesh.vertices[first];
  made.fifth_joint = shaped.mesh.vertices[fifth];
  made.mesh = std::move(shaped.mesh);
  return made;
}

Mesh makehuman_part(BodyPart part) {
  const Body body = read_body();
  const Box box = bounds(body.mesh);
  switch (part) {
    case BodyPart::both_feet:
      return part_of(body, [&](const Vec3& p) { return p.z() < box.low.z() + 120.0; }).mesh;
    case BodyPart::hand:
      return part_of(body, [&](const Vec3& p) { return p.y() > box.high.y() - 150.0; }).mesh;
    case BodyPart::head:
      return part_of(body, [&](const Vec3& p) { return p.z() > box.high.z() - 230.0; }).mesh;
  }
  return {};
}

Mesh makehuman_shoe() {
  std::ifstream in(data_file("shoes.json"));
  if (!in) throw std::runtime_error("no MakeHuman shoes: run tests/makehuman.sh DIR and set LASTROOM_MAKEHUMAN=DIR");
  const nlohmann::json json = nlohmann::json::parse(in);
  Mesh mesh;
  const auto& xyz = json["vertices"];
  for (std::size_t i = 0; i + 2 < xyz.size(); i += 3)
    mesh.vertices.emplace_back(100.0 * xyz[i + 2].get<double>(), 100.0 * xyz[i].get<double>(),
                               100.0 * xyz[i + 1].get<double>());
  const auto& faces = json["faces"];
  for (std::size_t i = 0; i + 9 < faces.size(); i += 10) {
    const auto corner = [&](std::size_t k) { return faces[i + 1 + k].get<std::uint32_t>(); };
    if (mesh.vertices[corner(0)].y() < 0.0) continue;
    mesh.triangles.push_back({corner(0), corner(1), corner(2)});
    mesh.triangles.push_back({corner(0), corner(2), corner(3)});
  }
  return submesh(mesh, std::vector<std::uint8_t>(mesh.triangles.size(), 1));
}

bool makehuman_is_here() {
  if (std::ifstream(data_file()).good()) return true;
  const char* ci = std::getenv("CI");
  REQUIRE_MESSAGE(!(ci && std::string(ci) == "true"), "LASTROOM_MAKEHUMAN must name the data's folder here");
  MESSAGE("skipped: no MakeHuman data (tests/makehuman.sh DIR, LASTROOM_MAKEHUMAN=DIR)");
  return false;
}

}  // namespace lastroom::test
