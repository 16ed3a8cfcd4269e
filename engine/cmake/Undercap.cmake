# How every target of the project is made. One function for a module, one for a test program.

add_library(undercap_options INTERFACE)
target_include_directories(undercap_options INTERFACE ${PROJECT_SOURCE_DIR})
target_compile_options(undercap_options INTERFACE
  -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wsign-conversion -Wdouble-promotion -Wold-style-cast
  -Wnon-virtual-dtor -Woverloaded-virtual -Wnull-dereference)
# Same source, same bytes on every machine of an architecture: no fused multiply-add chosen by the compiler.
target_compile_options(undercap_options INTERFACE -ffp-contract=off)
if(UNDERCAP_WERROR)
  target_compile_options(undercap_options INTERFACE -Werror)
endif()
if(UNDERCAP_FUZZ)
  if(NOT CMAKE_CXX_COMPILER_ID MATCHES "Clang")
    message(FATAL_ERROR "UNDERCAP_FUZZ needs clang: configure a new tree with -DCMAKE_CXX_COMPILER=clang++")
  endif()
  target_compile_options(undercap_options INTERFACE -fsanitize=fuzzer-no-link,address,undefined
    -fno-omit-frame-pointer -fno-sanitize-recover=undefined)
  target_link_options(undercap_options INTERFACE -fsanitize=address,undefined)
elseif(UNDERCAP_SANITIZE)
  target_compile_options(undercap_options INTERFACE -fsanitize=address,undefined -fno-omit-frame-pointer
    -fno-sanitize-recover=undefined)
  target_link_options(undercap_options INTERFACE -fsanitize=address,undefined)
endif()

# undercap_module(NAME SOURCES a.cpp ... [LINK undercap_core PkgConfig::X ...] [PRIVATE_LINK ...])
# A static library 'undercap_NAME'; headers are found as "engine/NAME/x.h".
function(undercap_module name)
  cmake_parse_arguments(arg "" "" "SOURCES;LINK;PRIVATE_LINK" ${ARGN})
  add_library(undercap_${name} STATIC ${arg_SOURCES})
  target_link_libraries(undercap_${name} PUBLIC ${arg_LINK} PRIVATE undercap_options ${arg_PRIVATE_LINK})
  target_include_directories(undercap_${name} PUBLIC ${PROJECT_SOURCE_DIR})
endfunction()

# undercap_embed(OUT HEADER h FUNCTION f ROOT folder FILES ...): compiles text files in, as a table that the function gives
# which the header declares; OUT becomes the source file.
function(undercap_embed out)
  cmake_parse_arguments(arg "" "HEADER;FUNCTION;ROOT" "FILES" ${ARGN})
  set(source ${CMAKE_CURRENT_BINARY_DIR}/${arg_FUNCTION}.cpp)
  list(TRANSFORM arg_FILES PREPEND ${arg_ROOT}/ OUTPUT_VARIABLE paths)
  add_custom_command(
    OUTPUT ${source}
    COMMAND ${CMAKE_COMMAND} -DOUT=${source} -DROOT=${arg_ROOT} "-DFILES=${arg_FILES}" -DHEADER=${arg_HEADER}
            -DFUNCTION=${arg_FUNCTION} -P ${PROJECT_SOURCE_DIR}/engine/cmake/EmbedText.cmake
    DEPENDS ${paths} ${PROJECT_SOURCE_DIR}/engine/cmake/EmbedText.cmake
    VERBATIM)
  set(${out} ${source} PARENT_SCOPE)
endfunction()

# undercap_test(NAME LABEL label [WHOLE SECONDS n] SOURCES a.cpp ... LINK undercap_core ...)
# A GoogleTest program whose cases ctest knows one by one. GL programs pass WHOLE: one process, one context; SECONDS is
# about how long it takes: the long ones begin first, so that both cores end together. The tests' own lines are compiled
# with less optimisation than the engine, and share the parsed headers of tests/CMakeLists.txt.
function(undercap_test name)
  cmake_parse_arguments(arg "WHOLE" "LABEL;SECONDS" "SOURCES;LINK" ${ARGN})
  add_executable(${name} ${arg_SOURCES})
  target_link_libraries(${name} PRIVATE undercap_options ${arg_LINK} GTest::gtest GTest::gtest_main)
  target_compile_options(${name} PRIVATE -O1)
  target_precompile_headers(${name} REUSE_FROM test_headers)
  target_compile_definitions(${name} PRIVATE UNDERCAP_SOURCE_DIR="${PROJECT_SOURCE_DIR}")
  if(arg_WHOLE)
    add_test(NAME ${name} COMMAND ${name})
    set_tests_properties(${name} PROPERTIES LABELS ${arg_LABEL} TIMEOUT 900 COST ${arg_SECONDS})
  else()
    gtest_discover_tests(${name} DISCOVERY_MODE PRE_TEST PROPERTIES LABELS ${arg_LABEL} TIMEOUT 300)
  endif()
endfunction()
