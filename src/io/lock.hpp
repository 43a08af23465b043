// SPDX-License-Identifier: Apache-2.0
// One run at a time in a folder. The lock is the operating system's: it ends with the process,
// however that ends. The lock file stays (removing it would let two runs hold two files).
#pragma once

#include <string>

namespace hardpan::io {

class FolderLock {
 public:
  // Throws EnvironmentError when another process holds it (named by its number when known), when
  // the folder is missing or cannot be written.
  explicit FolderLock(const std::string& folder, const std::string& lock_name = ".lock");
  ~FolderLock();
  FolderLock(FolderLock&& other) noexcept : handle_(other.handle_) { other.handle_ = -1; }
  FolderLock(const FolderLock&) = delete;
  FolderLock& operator=(const FolderLock&) = delete;

 private:
  int handle_ = -1;
};

}  // namespace hardpan::io
