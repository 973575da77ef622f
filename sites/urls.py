"""The addresses of the first floor."""

from django.urls import path

from sites.views import identification_key, identify, outlines, pests, properties, wishes, zones

urlpatterns = [
    path("pests/", pests.index, name="pests"),
    path("pests/add/", pests.add, name="pest_add"),
    path("identify/", identify.key, name="identify"),
    path("properties/<int:pk>/identify/", identify.at_property, name="property_identify"),
    path(
        "properties/<int:pk>/identify/record/",
        identify.record_at_property,
        name="property_identify_record",
    ),
    path("key/", identification_key.index, name="identification_key"),
    path("key/taxa/add/", identification_key.taxon_add, name="taxon_add"),
    path("key/taxa/<int:pk>/", identification_key.show, name="taxon"),
    path("key/taxa/<int:pk>/edit/", identification_key.taxon_edit, name="taxon_edit"),
    path("key/traits/add/", identification_key.trait_add, name="trait_add"),
    path("key/traits/<int:pk>/edit/", identification_key.trait_edit, name="trait_edit"),
    path("customers/<int:pk>/properties/add/", properties.add, name="property_add"),
    path("properties/<int:pk>/edit/", properties.edit, name="property_edit"),
    path("properties/<int:pk>/access/", properties.access, name="property_access"),
    path("properties/<int:pk>/water/", properties.water, name="property_water"),
    path("properties/<int:pk>/cautions/add/", wishes.caution_add, name="caution_add"),
    path("cautions/<int:pk>/remove/", wishes.caution_remove, name="caution_remove"),
    path("properties/<int:pk>/preferences/add/", wishes.preference_add, name="preference_add"),
    path("preferences/<int:pk>/remove/", wishes.preference_remove, name="preference_remove"),
    path("properties/<int:pk>/units/add/", wishes.unit_add, name="unit_add"),
    path("units/<int:pk>/edit/", wishes.unit_edit, name="unit_edit"),
    path("properties/<int:pk>/zones/add/", zones.add, name="zone_add"),
    path("properties/<int:pk>/walls/", outlines.walls, name="property_walls"),
    path("properties/<int:pk>/bands/add/", outlines.band, name="band_add"),
    path("properties/<int:pk>/waters/add/", outlines.water_add, name="water_add"),
    path("waters/<int:pk>/remove/", outlines.water_remove, name="water_remove"),
    path("zones/<int:pk>/edit/", zones.edit, name="zone_edit"),
    path("zones/<int:pk>/retire/", zones.retire, name="zone_retire"),
]
