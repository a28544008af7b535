#include "commands/jobs_file.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>

#include "error.h"
#include "mesh_io/input_file.h"

namespace lastroom {
namespace {

constexpr std::array<std::string_view, 6> kColumns = {"scan", "last", "shelf", "side", "wearer", "client"};
constexpr std::size_t kLongestField = 4000;

struct Record {
  std::size_t line = 0;  ///< where it begins
  std::vector<std::string> fields;
};

/// A field of the file, fit to stand in a message.
std::string shown(std::string_view field) {
  std::string text(field.substr(0, 40));
  for (char& c : text)
    if (c < ' ' || c == 127) c = '?';
  return text;
}

class CsvReader {
 public:
  CsvReader(std::string_view text, const std::string& name) : text_(text), name_(name) {}

  bool at_end() const { return at_ == text_.size(); }

  Record next() {
    Record record{line_, {}};
    do record.fields.push_back(field());
    while (take(','));
    if (!at_end() && !take_line_end())
      fail("a quote is closed in the middle of a field; double the quotes inside a field");
    return record;
  }

  [[noreturn]] void fail_in(std::size_t line, const std::string& what) const {
    throw InputError(fmt::format("{}, line {}: {}", name_, line, what));
  }

 private:
  [[noreturn]] void fail(const std::string& what) const { fail_in(line_, what); }
  bool take(char c) {
    if (at_end() || text_[at_] != c) return false;
    ++at_;
    return true;
  }
  bool take_line_end() {
    const bool return_too = take('\r');
    if (!take('\n') && !return_too) return false;
    ++line_;
    return true;
  }
  std::string field() {
    std::string value;
    if (!take('"')) {
      const std::size_t end = std::min(text_.find_first_of(",\r\n", at_), text_.size());
      value = text_.substr(at_, end - at_);
      if (value.find('"') != std::string::npos)
        fail("a quote stands inside a field; put the whole field between quotes");
      at_ = end;
    } else {
      const std::size_t first_line = line_;
      for (;;) {
        if (at_end()) {
          line_ = first_line;
          fail("a quote is opened and never closed; close it");
        }
        if (take('"')) {
          if (!take('"')) break;
          value += '"';
          continue;
        }
        if (text_[at_] == '\n') ++line_;
        value += text_[at_++];
      }
    }
    if (value.size() > kLongestField || value.find('\0') != std::string::npos)
      fail("a field is too long or no text; this is no list of jobs");
    return value;
  }

  std::string_view text_;
  const std::string& name_;
  std::size_t at_ = 0, line_ = 1;
};

std::map<std::string, std::size_t> columns_of(const Record& head, const CsvReader& reader) {
  std::map<std::string, std::size_t> columns;
  const auto fail = [&](const std::string& what) { reader.fail_in(head.line, what); };
  const std::string known = fmt::format("{}", fmt::join(kColumns, ", "));
  if (head.fields.size() == 1 && head.fields[0].find(';') != std::string::npos)
    fail("the columns are parted by semicolons; save the table with commas (CSV UTF-8)");
  for (std::size_t i = 0; i < head.fields.size(); ++i) {
    const std::string& name = head.fields[i];
    if (std::ranges::find(kColumns, name) == kColumns.end())
      fail(fmt::format("no column is called '{}'; they are: {}", shown(name), known));
    if (!columns.emplace(name, i).second) fail(fmt::format("the column '{}' is there twice; leave one", name));
  }
  if (!columns.contains("scan")) fail("the column 'scan' is missing; the first line names the columns: " + known);
  if (!columns.contains("last") && !columns.contains("shelf"))
    fail("there is neither a column 'last' nor 'shelf'; the first line names the columns: " + known);
  return columns;
}

}  // namespace

std::vector<Job> read_jobs(const std::filesystem::path& file) {
  constexpr std::uint64_t kLargest = 50'000'000;
  const FileBytes bytes = read_bytes(file, kLargest);
  return parse_jobs({bytes.data.get(), bytes.size}, shown_name(file));
}

std::vector<Job> parse_jobs(std::string_view text, const std::string& name) {
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  if (text.starts_with("\xFF\xFE") || text.starts_with("\xFE\xFF"))
    throw InputError(name + ": is in UTF-16; save the table as CSV UTF-8");
  CsvReader reader(text, name);
  const auto columns = columns_of(reader.next(), reader);
  std::vector<Job> jobs;
  while (!reader.at_end()) {
    const Record record = reader.next();
    if (record.fields.size() == 1 && record.fields[0].empty()) continue;  // an empty line
    const auto fail = [&](const std::string& what) { reader.fail_in(record.line, what); };
    if (record.fields.size() != columns.size())
      fail(fmt::format("has {} fields, and the first line names {} columns; put fields with commas between quotes",
                       record.fields.size(), columns.size()));
    const auto field = [&](const char* column) {
      const auto place = columns.find(column);
      return place == columns.end() ? std::string() : record.fields[place->second];
    };
    Job job{jobs.size() + 1, field("scan"), field("last"), field("shelf"), field("client"), {}, {}};
    if (job.scan.empty()) fail("names no scan");
    if (job.last.empty() == job.shelf.empty()) fail("give either a last or a shelf");
    const std::string side = field("side"), wearer = field("wearer");
    if (side == "left" || side == "right")
      job.side = side == "left" ? Side::left : Side::right;
    else if (!side.empty() && side != "auto")
      fail(fmt::format("'{}' is no side; write left, right or auto", shown(side)));
    for (const Wearer one : {Wearer::standard, Wearer::at_risk, Wearer::unknown})
      if (wearer == wearer_name(one)) job.wearer = one;
    if (!job.wearer && !wearer.empty())
      fail(fmt::format("'{}' is no kind of wearer; write standard, at-risk or unknown", shown(wearer)));
    jobs.push_back(std::move(job));
  }
  if (jobs.empty()) throw InputError(name + ": names no job; put one on each line below the columns");
  return jobs;
}

}  // namespace lastroom
