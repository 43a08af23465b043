// SPDX-License-Identifier: Apache-2.0
// Files and folders that appear whole or not at all, also when the program is killed or the
// power fails: written beside the target, synced, then renamed over it.
//
// Failures of the surroundings (disk full, read-only, no permission) throw EnvironmentError with
// a sentence; the old content is then untouched.
//
//   OutputDirectory out("tern-spit/out");       // holds a lock? take FolderLock first
//   write_file(out.path() + "/report.html", html);
//   out.commit();                               // the old folder is exchanged and removed
#pragma once

#include <string>
#include <string_view>

namespace hardpan::io {

// Writes through a symbolic link to the file it names. Leaves `.NAME.PID.partial` behind only
// when killed; remove_partial_files clears those whose process is gone.
void write_file(const std::string& path, std::string_view bytes);
void remove_partial_files(const std::string& folder);

// Renames an already written and closed file over path: fsync, rename, fsync of the folder.
void replace_file(const std::string& written, const std::string& path);

enum class ExchangeMethod { none, renamed, exchanged, rename_pair };

// Builds a folder at path() and puts it in the place of `target` at commit(). One at a time for a
// target: hold a FolderLock. Beside the target stand, while building, `.NAME.building`, and on file
// systems that cannot exchange two names in one step, for the moment between two renames,
// `.NAME.ready` and `.NAME.old`. The constructor finishes or clears what a killed run left: a
// finished folder moves into place, anything else is removed.
class OutputDirectory {
 public:
  explicit OutputDirectory(std::string target);
  ~OutputDirectory();  // without commit: what was built is removed
  OutputDirectory(const OutputDirectory&) = delete;
  OutputDirectory& operator=(const OutputDirectory&) = delete;

  [[nodiscard]] const std::string& path() const { return building_; }
  // Syncs every file and folder, then exchanges. Call once.
  void commit();
  [[nodiscard]] ExchangeMethod method() const { return method_; }

  // For a test of the second way, and of what it leaves behind when killed.
  void use_rename_pair_only() { pair_only_ = true; }

  // Clears or finishes leftovers without building anything.
  static void recover(const std::string& target);

 private:
  std::string target_, building_, ready_, old_;
  ExchangeMethod method_ = ExchangeMethod::none;
  bool pair_only_ = false;
};

}  // namespace hardpan::io
