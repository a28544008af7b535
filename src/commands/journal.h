#pragma once

#include <filesystem>
#include <functional>
#include <map>
#include <mutex>
#include <nlohmann/json.hpp>
#include <string>

namespace lastroom {

/// Results of a long run, kept beside its output folder as they come: one line of JSON each, so that a run that was
/// killed goes on where it was. It is about a foot, so nothing of it stays: `done` removes it.
class Journal {
 public:
  /// Goes on with DIR.unfinished if that was begun for the same work (`run` names it: inputs, options, program), else
  /// begins it anew. A torn last line, where a run was killed, is left out. Throws OutputError.
  Journal(const std::filesystem::path& output, const std::string& run);
  ~Journal();
  Journal(const Journal&) = delete;
  Journal& operator=(const Journal&) = delete;

  bool has(const std::string& key) const;
  /// Reads the entry from the file again: only its place is held in memory.
  nlohmann::json at(const std::string& key) const;
  void add(const std::string& key, const nlohmann::json& entry);
  std::size_t size() const { return places_.size(); }
  void done();

 private:
  struct Place {
    std::uint64_t offset, length;
  };
  void take_in(const std::string& run);
  void append(const std::string& line);

  std::filesystem::path file_;
  int descriptor_ = -1;
  mutable std::mutex mutex_;
  std::map<std::string, Place> places_;
};

}  // namespace lastroom
