// The Python module: numpy arrays in, a typed result out. It stands on what is installed for everybody, lastroom/fit.h.
#include <pybind11/eigen.h>
#include <pybind11/numpy.h>
#include <pybind11/pybind11.h>
#include <pybind11/stl.h>
#include <pybind11/stl/filesystem.h>

#include <cstring>

#include "lastroom/fit.h"

namespace py = pybind11;

namespace {

using namespace lastroom;

constexpr const char* kModule = R"(Does this foot fit this last?

lastroom stands the 3D scan of a bare foot in the mesh of a shoe last and says where the last holds, where it presses,
what may be tightened and what to change, with one standard deviation of every number. Lengths are mm, angles degrees;
places are in the last frame: origin at the heel point of the last's bottom, x to the toe, y to the wearer's left, z up.

It compares two shapes. It is no diagnosis and cannot feel pain, warmth or numbness: the fit of feet at risk, or of which
nothing is known, is checked by a podiatrist, orthotist or other licensed professional.)";

constexpr const char* kFit = R"(Stands the foot in the last and judges it.

scan, last: a file's path; (vertices, triangles) as arrays of shapes (n, 3) and (m, 3), in any pose and unit; vertices
    alone for bare points (which need the Open3D module); or a Foot and a Last that were prepared before.
wearer: "standard" (no diabetes, reduced feeling, poor circulation, earlier ulcer or amputation, kidney failure, changed
    shape), "at-risk", or "unknown", which is judged like at risk.
rules: the path of a rules file instead of the built-in limits.
sock_mm: 0 to 20. scan_load: "full", "half" or "none" of the body's weight. scan_error_mm: 0.1 to 10, one standard
    deviation. tape_joint_mm: 100 to 400, the joint girth as taped. day: whether a day in the shoe is judged too.
threads: at most so many at once; 0: as many as there are. No result depends on it.

Raises Refused (a ValueError, with .key) when the two can't be judged, ValueError when an option is out of its range.)";

constexpr const char* kFoot = R"(A bare foot, cleaned, stood up and measured, to be tried in many lasts.

scan: as in fit. side: "left" or "right", else told from the shape. unit: "mm", "cm", "m" or "in", else from the size.
landmarks: {"heel": point, "first_joint": .., "fifth_joint": .., "big_toe_tip": .. "fifth_toe_tip": ..} in the scan's own
    coordinates; what is missing is found.
never_press: [(point, "bunion"), ...]; words for a wound, an ulcer, an amputation or lost feeling make the wearer one at
    risk.)";

template <class Value>
Value named(const char* what, const std::string& word, std::initializer_list<std::pair<const char*, Value>> values) {
  std::string known;
  for (const auto& [name, value] : values) {
    if (word == name) return value;
    known += std::string(known.empty() ? "" : ", ") + name;
  }
  throw py::value_error(std::string(what) + " is one of " + known + ", not " + word);
}

std::optional<Unit> unit_named(const std::optional<std::string>& word) {
  if (!word) return std::nullopt;
  return named<Unit>("unit", *word, {{"mm", Unit::mm}, {"cm", Unit::cm}, {"m", Unit::m}, {"in", Unit::inch}});
}

std::optional<Side> side_named(const std::optional<std::string>& word) {
  if (!word) return std::nullopt;
  return named<Side>("side", *word, {{"left", Side::left}, {"right", Side::right}});
}

using Rows = py::array_t<double, py::array::c_style | py::array::forcecast>;
using Indices = py::array_t<std::int64_t, py::array::c_style | py::array::forcecast>;

template <class Array>
Array of_three(const py::handle& given, const char* what) {
  Array array = Array::ensure(given);
  if (!array) throw py::error_already_set();
  if (array.ndim() != 2 || array.shape(1) != 3) throw py::value_error(std::string(what) + " must have shape (n, 3)");
  return array;
}

std::vector<Vector3> vertices_in(const py::handle& given) {
  const auto rows = of_three<Rows>(given, "vertices");
  std::vector<Vector3> vertices(static_cast<std::size_t>(rows.shape(0)));
  static_assert(sizeof(Vector3) == 3 * sizeof(double));
  if (!vertices.empty())
    std::memcpy(static_cast<void*>(vertices.data()), rows.data(), vertices.size() * sizeof(Vector3));
  return vertices;
}

/// What no 32-bit index can be points nowhere, and its triangle is dropped.
std::vector<std::array<std::uint32_t, 3>> triangles_in(const py::handle& given) {
  const py::array as_given = py::array::ensure(given);
  if (!as_given || (as_given.size() > 0 && as_given.dtype().kind() != 'i' && as_given.dtype().kind() != 'u'))
    throw py::type_error("triangles must be whole numbers");
  if (as_given.size() == 0) return {};
  const auto rows = of_three<Indices>(as_given, "triangles");
  constexpr std::uint32_t kNowhere = 0xFFFFFFFFu;
  std::vector<std::array<std::uint32_t, 3>> triangles(static_cast<std::size_t>(rows.shape(0)));
  const std::int64_t* next = rows.data();
  for (auto& triangle : triangles)
    for (std::uint32_t& corner : triangle) {
      const std::int64_t index = *next++;
      corner = index >= 0 && index < kNowhere ? static_cast<std::uint32_t>(index) : kNowhere;
    }
  return triangles;
}

GivenMesh mesh_in(const py::object& given, const char* name) {
  if (py::isinstance<py::str>(given) || py::hasattr(given, "__fspath__")) {
    const auto file = given.cast<std::filesystem::path>();
    const py::gil_scoped_release others_may_run;
    return read_mesh(file);
  }
  Mesh mesh;
  if (py::isinstance<py::tuple>(given)) {
    const auto both = given.cast<py::tuple>();
    if (both.size() != 2) throw py::value_error(std::string(name) + " is (vertices, triangles)");
    mesh = {vertices_in(both[0]), triangles_in(both[1])};
  } else {
    mesh.vertices = vertices_in(given);
  }
  const py::gil_scoped_release others_may_run;
  return given_mesh(std::move(mesh), name);
}

Landmarks landmarks_in(const std::map<std::string, Vector3>& points,
                       const std::vector<std::pair<Vector3, std::string>>& never_press) {
  Landmarks marks;
  for (const auto& [name, point] : points) {
    std::optional<Vector3>* const place = landmark_called(marks, name);
    if (place == nullptr) throw py::value_error("no landmark is called " + name);
    *place = point;
  }
  for (const auto& [at, what] : never_press) marks.never_press.push_back({at, what});
  return marks;
}

Foot foot_in(const py::object& scan, const std::optional<std::string>& side, const std::optional<std::string>& unit,
             const std::map<std::string, Vector3>& landmarks,
             const std::vector<std::pair<Vector3, std::string>>& never_press, int threads) {
  const FootOptions options{side_named(side), unit_named(unit), landmarks_in(landmarks, never_press), threads};
  const GivenMesh given = mesh_in(scan, "scan");
  const py::gil_scoped_release others_may_run;
  return Foot(given, options);
}

Last last_in(const py::object& file, const std::optional<std::string>& unit, int threads) {
  const LastOptions options{unit_named(unit), threads};
  const GivenMesh given = mesh_in(file, "last");
  const py::gil_scoped_release others_may_run;
  return Last(given, options);
}

Fit fit_in(const py::object& scan, const py::object& last, const std::string& wearer,
           const std::optional<std::filesystem::path>& rules, double sock_mm, const std::string& scan_load,
           double scan_error_mm, std::optional<double> tape_joint_mm, bool day, int threads) {
  const FitOptions options{
      named<Wearer>("wearer", wearer,
                    {{"standard", Wearer::standard}, {"at-risk", Wearer::at_risk}, {"unknown", Wearer::unknown}}),
      sock_mm,
      named<ScanLoad>("scan_load", scan_load,
                      {{"full", ScanLoad::full}, {"half", ScanLoad::half}, {"none", ScanLoad::none}}),
      scan_error_mm,
      tape_joint_mm,
      day,
      threads};
  const Foot foot = py::isinstance<Foot>(scan) ? scan.cast<Foot>() : foot_in(scan, {}, {}, {}, {}, threads);
  const Last ready = py::isinstance<Last>(last) ? last.cast<Last>() : last_in(last, {}, threads);
  const py::gil_scoped_release others_may_run;
  return fit(foot, ready, rules ? read_rules(*rules) : default_rules(), options);
}

const char* word_of(Wearer wearer) {
  return wearer == Wearer::standard ? "standard" : wearer == Wearer::at_risk ? "at-risk" : "unknown";
}
const char* word_of(Side side) { return side == Side::left ? "left" : "right"; }

py::dict dict_of(const std::vector<Measure>& measures) {
  py::dict dict;
  for (const Measure& measure : measures) dict[py::str(measure.name)] = measure.mm;
  return dict;
}

template <class Number, class Row>
py::array_t<Number> array_of(const std::vector<Row>& rows) {
  static_assert(sizeof(Row) == 3 * sizeof(Number));
  py::array_t<Number> array({rows.size(), std::size_t{3}});
  if (!rows.empty()) std::memcpy(array.mutable_data(), rows.data(), rows.size() * sizeof(Row));
  return array;
}

py::array_t<double> array_of(const std::vector<double>& values) {
  return py::array_t<double>(static_cast<py::ssize_t>(values.size()), values.data());
}

template <class Judged>
std::string verdict_of(const Judged& judged) {
  return std::string(verdict_name(judged.verdict));
}

void tell_of_zones_and_findings(py::module_& module) {
  py::class_<ZoneResult>(module, "Zone",
                         "The room that a zone of the skin has in the last, by area, in mm after the sock.")
      .def_readonly("zone", &ZoneResult::zone)
      .def_property_readonly("verdict", &verdict_of<ZoneResult>, "clear, slack, watch or pinch")
      .def_readonly("undecided", &ZoneResult::undecided, "the chance of a pinch is between 0.2 and 0.8")
      .def_readonly("p05_mm", &ZoneResult::p05_mm, "5th percentile; negative: the shoe would press by that much")
      .def_readonly("median_mm", &ZoneResult::median_mm)
      .def_readonly("min_mm", &ZoneResult::min_mm)
      .def_readonly("sigma_mm", &ZoneResult::sigma_mm, "one standard deviation of p05_mm")
      .def_readonly("limit_mm", &ZoneResult::limit_mm, "below it p05_mm is a pinch")
      .def_readonly("chance_of_pinch", &ZoneResult::chance_of_pinch)
      .def_readonly("area_mm2", &ZoneResult::area_mm2)
      .def_readonly("area_below_limit_mm2", &ZoneResult::area_below_limit_mm2)
      .def_readonly("at_mm", &ZoneResult::at_mm, "the tightest place")
      .def("__repr__", [](const ZoneResult& z) {
        return py::str("<{}: {}, {:.1f} +- {:.1f} mm>").format(z.zone, verdict_of(z), z.p05_mm, z.sigma_mm);
      });
  py::class_<Finding>(module, "Finding", "What a rule has to say, and what to do.")
      .def_readonly("rule", &Finding::rule)
      .def_property_readonly("verdict", &verdict_of<Finding>)
      .def_readonly("zone", &Finding::zone)
      .def_readonly("measured_mm", &Finding::measured_mm)
      .def_readonly("limit_mm", &Finding::limit_mm)
      .def_readonly("sigma_mm", &Finding::sigma_mm, "one standard deviation of measured_mm")
      .def_readonly("at_mm", &Finding::at_mm)
      .def_readonly("advice", &Finding::advice)
      .def_readonly("advice_key", &Finding::advice_key)
      .def_readonly("source", &Finding::source, "of the limit")
      .def_readonly("provenance", &Finding::provenance, "of the limit: published, common practice or our choice")
      .def("__repr__",
           [](const Finding& f) { return py::str("<{}: {}. {}>").format(verdict_of(f), f.rule, f.advice); });
}

void tell_of_advice(py::module_& module) {
  py::class_<Tightening>(module, "Tightening",
                         "How far the joint may be pulled in; nothing for who may not feel a pinch.")
      .def_readonly("joint_girth_mm", &Tightening::joint_girth_mm,
                    "by how much the girth may be reduced; 0: not at all")
      .def_readonly("inside_mm", &Tightening::inside_mm)
      .def_readonly("outside_mm", &Tightening::outside_mm)
      .def_readonly("sigma_mm", &Tightening::sigma_mm, "one standard deviation of either side")
      .def_readonly("why", &Tightening::why, "what stops it, or why none is offered");
  py::class_<Change>(module, "Change", "To be made on the last.")
      .def_readonly("operation", &Change::operation, "build_up, take_down or lengthen")
      .def_readonly("zone", &Change::zone, "for which most of it is done")
      .def_readonly("height_mm", &Change::height_mm, "at its peak; negative: taken down")
      .def_readonly("length_mm", &Change::length_mm, "along the last")
      .def_readonly("width_mm", &Change::width_mm, "across it")
      .def_readonly("centre_mm", &Change::centre_mm);
  py::class_<Lacking>(module, "Lacking", "What no change of this last cures.")
      .def_readonly("rule", &Lacking::rule)
      .def_readonly("zone", &Lacking::zone)
      .def_readonly("mm", &Lacking::mm);
  py::class_<Pose>(module, "Pose", "Where the foot stands in the last.")
      .def_readonly("converged", &Pose::converged)
      .def_readonly("last_from_scan", &Pose::last_from_scan, "4 x 4, of the rear part; mm to mm")
      .def_readonly("last_from_file", &Pose::last_from_file, "4 x 4, of the last's own file; mm to mm")
      .def_readonly("flex_point_mm", &Pose::flex_point_mm, "on the hinge about which the fore part turns")
      .def_readonly("flex_axis", &Pose::flex_axis)
      .def_readonly("flex_deg", &Pose::flex_deg, "positive lifts the toes")
      .def_readonly("position_sigma_mm", &Pose::position_sigma_mm)
      .def_readonly("angle_sigma_deg", &Pose::angle_sigma_deg)
      .def_readonly("doubt", &Pose::doubt, "why no verdict may be built on it; else empty");
}

void tell_of_bodies(py::module_& module) {
  py::class_<Foot>(module, "Foot", kFoot)
      .def(py::init(&foot_in), py::arg("scan"), py::kw_only(), py::arg("side") = py::none(),
           py::arg("unit") = py::none(), py::arg("landmarks") = py::dict(), py::arg("never_press") = py::list(),
           py::arg("threads") = 0)
      .def_property_readonly("side", [](const Foot& foot) { return word_of(foot.side()); })
      .def_property_readonly("chance_of_wrong_side", &Foot::chance_of_wrong_side)
      .def_property_readonly("measures_mm", [](const Foot& foot) { return dict_of(foot.measures()); })
      .def_property_readonly("joint_girth_sigma_mm", &Foot::joint_girth_sigma_mm)
      .def_property_readonly("repairs", &Foot::repairs, "what was done to the mesh; first a doubt that it is a foot");
  py::class_<Last>(module, "Last", "A shoe last, cleaned, stood on its tread and measured, to be tried with many feet.")
      .def(py::init(&last_in), py::arg("file"), py::kw_only(), py::arg("unit") = py::none(), py::arg("threads") = 0)
      .def_property_readonly("side", [](const Last& last) { return word_of(last.side()); })
      .def_property_readonly("chance_of_wrong_side", &Last::chance_of_wrong_side)
      .def_property_readonly("measures_mm", [](const Last& last) { return dict_of(last.measures()); })
      .def_property_readonly("repairs", &Last::repairs, "what was done to the mesh; first a doubt that it is a last");
}

template <class Member>
auto of_result(Member Result::*member) {
  return [member](const Fit& judged) { return judged.result().*member; };
}

void tell_of_fit(py::module_& module) {
  py::class_<PosedSkin>(module, "Skin", "The skin as it stands in the last, and the room at each of its vertices.")
      .def_property_readonly("vertices", [](const PosedSkin& s) { return array_of<double>(s.mesh.vertices); })
      .def_property_readonly("triangles", [](const PosedSkin& s) { return array_of<std::uint32_t>(s.mesh.triangles); })
      .def_property_readonly(
          "clearance_mm", [](const PosedSkin& s) { return array_of(s.clearance_mm); },
          "NaN where it says nothing of the fit")
      .def_property_readonly(
          "sigma_mm", [](const PosedSkin& s) { return array_of(s.sigma_mm); },
          "one standard deviation of clearance_mm");
  py::class_<Fit>(module, "Fit", "A foot judged in a last.")
      .def_property_readonly(
          "verdict", [](const Fit& f) { return verdict_of(f.result()); },
          "clear, slack, watch, pinch, or none: no verdict")
      .def_property_readonly(
          "wearer", [](const Fit& f) { return word_of(f.result().wearer); }, "as judged")
      .def_property_readonly("side", [](const Fit& f) { return word_of(f.result().side); })
      .def_property_readonly("zones", of_result(&Result::zones), "heel to toes")
      .def_property_readonly("findings", of_result(&Result::findings), "gravest first")
      .def_property_readonly("tightening", of_result(&Result::tightening))
      .def_property_readonly("changes", of_result(&Result::changes), "after which nothing pinches; may be none")
      .def_property_readonly(
          "verdict_after", [](const Fit& f) { return std::string(verdict_name(f.result().verdict_after)); },
          "with the changes made; none without any")
      .def_property_readonly("lacking", of_result(&Result::lacking), "not empty: another last is the better way")
      .def_property_readonly("pose", of_result(&Result::pose))
      .def("skin", &Fit::skin, py::call_guard<py::gil_scoped_release>())
      .def("result_json", &Fit::result_json, "as lastroom check writes it, without times")
      .def(
          "pages",
          [](const Fit& judged, const std::string& client, const std::string& date, const std::string& language,
             bool inches, bool letter) {
            py::dict pages;
            for (const auto& [name, bytes] : judged.pages({client, date, language, inches, letter}))
              pages[py::str(name)] = py::bytes(bytes);
            return pages;
          },
          "report.html, client.html, referral.html, clearance.ply and result.json as bytes", py::kw_only(),
          py::arg("client") = "", py::arg("date") = "", py::arg("language") = "en", py::arg("inches") = false,
          py::arg("letter") = false)
      .def("__repr__", [](const Fit& f) { return "<fit: " + verdict_of(f.result()) + ">"; });
}

}  // namespace

PYBIND11_MODULE(lastroom, module) {
  module.doc() = kModule;
  module.attr("__version__") = std::string(version());
  static const py::exception<Refused> refused(module, "Refused", PyExc_ValueError);
  py::register_exception_translator([](std::exception_ptr thrown) {
    try {
      if (thrown) std::rethrow_exception(thrown);
    } catch (const Refused& why) {
      const py::object told = py::handle(refused)(why.what());
      told.attr("key") = why.key;
      PyErr_SetObject(refused.ptr(), told.ptr());
    }
  });
  tell_of_zones_and_findings(module);
  tell_of_advice(module);
  tell_of_bodies(module);
  tell_of_fit(module);
  module.def("fit", &fit_in, kFit, py::arg("scan"), py::arg("last"), py::kw_only(), py::arg("wearer") = "unknown",
             py::arg("rules") = py::none(), py::arg("sock_mm") = 0.0, py::arg("scan_load") = "full",
             py::arg("scan_error_mm") = 1.0, py::arg("tape_joint_mm") = py::none(), py::arg("day") = true,
             py::arg("threads") = 0);
  module.def("look_for_helpers_in", &look_for_helpers_in, py::arg("folder"),
             "Where the Open3D module and reader lie, if not where they are installed; before the first bare points.");
}
