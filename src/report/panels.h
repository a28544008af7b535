#pragma once

#include "report/page.h"

namespace lastroom {

// One function a panel, in the order in which they stand in the report.
void client_panel(pugi::xml_node page, const Page& facts);
void pair_panel(pugi::xml_node page, const Page& left, const Page& right);  ///< both feet, in place of client_panel
void pair_differences_panel(pugi::xml_node page, const Page& left, const Page& right);
void cautions_panel(pugi::xml_node page, const Page& facts);
void cautions_panel(pugi::xml_node page, const Page& facts, Wearer wearer);  ///< of two feet, for the graver
void findings_panel(pugi::xml_node page, const Page& facts);
void clearance_panel(pugi::xml_node page, const Page& facts);
void sections_panel(pugi::xml_node page, const Page& facts);
void toe_box_panel(pugi::xml_node page, const Page& facts);
void day_panel(pugi::xml_node page, const Page& facts);  ///< nothing where no day was judged
void tightening_panel(pugi::xml_node page, const Page& facts);
void found_panel(pugi::xml_node page, const Page& facts);
void measures_panel(pugi::xml_node page, const Page& facts);
void corrections_panel(pugi::xml_node page, const Page& facts);
void add_operations(pugi::xml_node parent, const Page& facts);  ///< what to do to the last, as a list
void registration_panel(pugi::xml_node page, const Page& facts);
void files_panel(pugi::xml_node page, const Page& facts);

}  // namespace lastroom
