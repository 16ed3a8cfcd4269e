# cmake -DOUT=x.cpp -DROOT=shaders -DFILES="a;b" -P EmbedText.cmake : text files as a sorted table of C++ string views,
# which the function embedded_shaders() of engine/render/embedded_shaders.h gives, or -DFUNCTION= of -DHEADER=.
if(NOT HEADER)
  set(HEADER engine/render/embedded_shaders.h)
  set(FUNCTION embedded_shaders)
endif()
set(text "#include \"${HEADER}\"\n\nnamespace undercap {\n\nstd::map<std::string, std::string_view> ${FUNCTION}() {\n  return {\n")
foreach(file ${FILES})
  file(READ ${ROOT}/${file} content)
  string(APPEND text "    {\"${file}\", R\"glsl(${content})glsl\"},\n")
endforeach()
string(APPEND text "  };\n}\n\n}  // namespace undercap\n")
file(WRITE ${OUT} "${text}")
