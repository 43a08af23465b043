# SPDX-License-Identifier: Apache-2.0
# hardpan_module(NAME [DEPENDS ...]) declares one module: folder src/NAME, target hardpan_NAME,
# test binary NAME_test. The folder's CMakeLists.txt calls hardpan_sources, hardpan_tests and
# hardpan_private_libs. A module whose folder does not exist yet is skipped.

find_package(PkgConfig REQUIRED)
find_package(Threads REQUIRED)
find_package(fmt REQUIRED)

set(CMAKE_CXX_STANDARD 20)
set(CMAKE_CXX_STANDARD_REQUIRED ON)
set(CMAKE_CXX_EXTENSIONS OFF)
set(CMAKE_EXPORT_COMPILE_COMMANDS ON)
set(CMAKE_RUNTIME_OUTPUT_DIRECTORY ${CMAKE_BINARY_DIR}/bin)
# Plug-ins (modules that load on first use) lie beside the programs that load them.
set(CMAKE_LIBRARY_OUTPUT_DIRECTORY ${CMAKE_BINARY_DIR}/bin)
set(CMAKE_POSITION_INDEPENDENT_CODE ON)
if(NOT CMAKE_BUILD_TYPE)
  set(CMAKE_BUILD_TYPE Dev CACHE STRING "Dev (optimised, assertions on), Release" FORCE)
endif()
set(CMAKE_CXX_FLAGS_DEV "-O2 -g1")

# Flags every target of ours carries; nothing is set directory-wide.
add_library(hardpan_flags INTERFACE)
target_compile_options(hardpan_flags INTERFACE -Wall -Wextra -Wshadow -Wpedantic -Wno-missing-field-initializers
                       -ffp-contract=off $<$<BOOL:${HARDPAN_WERROR}>:-Werror>)
target_compile_definitions(hardpan_flags INTERFACE $<$<CONFIG:Release>:HARDPAN_RELEASE>)
if(HARDPAN_SANITIZE)
  # -O1: the vector kernel takes a quarter of an hour to compile at -O2 with checks in it.
  target_compile_options(hardpan_flags INTERFACE -O1 -fsanitize=${HARDPAN_SANITIZE}
                         -fno-omit-frame-pointer -fno-sanitize-recover=all)
  target_compile_definitions(hardpan_flags INTERFACE HARDPAN_SANITIZED)
  target_link_options(hardpan_flags INTERFACE -fsanitize=${HARDPAN_SANITIZE})
endif()
target_link_options(hardpan_flags INTERFACE -Wl,--build-id=sha1)  # read by base/build_id.hpp
find_program(HARDPAN_MOLD mold)
if(HARDPAN_MOLD)
  target_link_options(hardpan_flags INTERFACE -fuse-ld=mold)
endif()

if(HARDPAN_TESTS)
  enable_testing()
  find_package(GTest REQUIRED)
  find_package(rapidcheck QUIET)
  include(GoogleTest)
endif()

function(hardpan_module name)
  cmake_parse_arguments(arg "" "" "DEPENDS" ${ARGN})
  if(NOT EXISTS ${CMAKE_CURRENT_SOURCE_DIR}/src/${name}/CMakeLists.txt)
    return()
  endif()
  set(HARDPAN_MODULE ${name})
  set(HARDPAN_DEPENDS "")
  foreach(d IN LISTS arg_DEPENDS)
    if(TARGET hardpan_${d})
      list(APPEND HARDPAN_DEPENDS hardpan_${d})
    endif()
  endforeach()
  add_subdirectory(src/${name})
endfunction()

# Called in src/NAME/CMakeLists.txt.
function(hardpan_sources)
  add_library(hardpan_${HARDPAN_MODULE} STATIC ${ARGN})
  target_include_directories(hardpan_${HARDPAN_MODULE} PUBLIC ${PROJECT_SOURCE_DIR}/src)
  target_link_libraries(hardpan_${HARDPAN_MODULE}
    PUBLIC ${HARDPAN_DEPENDS} fmt::fmt PRIVATE hardpan_flags)
endfunction()

function(hardpan_private_libs)
  target_link_libraries(hardpan_${HARDPAN_MODULE} PRIVATE ${ARGN})
endfunction()

function(hardpan_tests)
  if(HARDPAN_TESTS)
    hardpan_test_binary(${HARDPAN_MODULE}_test SOURCES ${ARGN} DEPENDS hardpan_${HARDPAN_MODULE})
  endif()
endfunction()

# hardpan_test_binary(name SOURCES ... DEPENDS ...): a GoogleTest binary, one ctest entry a suite
# binary (the runner prints its own cases). HARDPAN_SOURCE_DIR and HARDPAN_BIN_DIR are defined.
function(hardpan_test_binary name)
  cmake_parse_arguments(arg "" "" "SOURCES;DEPENDS" ${ARGN})
  add_executable(${name} ${arg_SOURCES})
  target_link_libraries(${name} PRIVATE ${arg_DEPENDS} hardpan_flags GTest::gmock GTest::gtest_main)
  # Test sources are large for what they compute; the libraries under test keep their own options.
  target_compile_options(${name} PRIVATE -O1 -g0)
  if(rapidcheck_FOUND)
    target_link_libraries(${name} PRIVATE rapidcheck)
  endif()
  target_compile_definitions(${name} PRIVATE
    HARDPAN_SOURCE_DIR="${PROJECT_SOURCE_DIR}" HARDPAN_BIN_DIR="${CMAKE_RUNTIME_OUTPUT_DIRECTORY}")
  add_test(NAME ${name} COMMAND ${name} WORKING_DIRECTORY ${PROJECT_BINARY_DIR})
  set(limit_s 900)
  if(HARDPAN_SANITIZE)
    set(limit_s 3600)
  endif()
  set_tests_properties(${name} PROPERTIES TIMEOUT ${limit_s})
endfunction()

function(hardpan_app name)
  cmake_parse_arguments(arg "" "" "DEPENDS" ${ARGN})
  if(NOT EXISTS ${CMAKE_CURRENT_SOURCE_DIR}/apps/${name}/CMakeLists.txt)
    return()
  endif()
  set(HARDPAN_DEPENDS "")
  foreach(d IN LISTS arg_DEPENDS)
    if(TARGET hardpan_${d})
      list(APPEND HARDPAN_DEPENDS hardpan_${d})
    endif()
  endforeach()
  add_subdirectory(apps/${name})
endfunction()

function(hardpan_finish)
  foreach(dir tests bench fuzz)
    if(NOT EXISTS ${PROJECT_SOURCE_DIR}/${dir}/CMakeLists.txt)
      continue()
    endif()
    if((dir STREQUAL "tests" AND HARDPAN_TESTS) OR (dir STREQUAL "bench" AND HARDPAN_BENCH)
       OR (dir STREQUAL "fuzz" AND HARDPAN_FUZZ))
      add_subdirectory(${dir})
    endif()
  endforeach()
endfunction()
