"""The addresses of the second floor."""

from django.urls import path

from treatments.views import (
    equipment,
    label_entry,
    labels,
    log,
    records,
    stock,
    stock_moves,
)

urlpatterns = [
    path("record/<int:pk>/", records.show, name="record"),
    path("log/", log.proof, name="log_proof"),
    path("labels/", labels.index, name="labels"),
    path("labels/import/", label_entry.from_file, name="label_import"),
    path("products/<int:pk>/", labels.product, name="product"),
    path("labels/<int:pk>/", labels.show, name="label"),
    path("labels/<int:pk>/compare/", labels.comparison, name="label_compare"),
    path("labels/<int:pk>/label.json", labels.document, name="label_json"),
    path("labels/<int:pk>/verify/", labels.verify, name="label_verify"),
    path("labels/<int:pk>/complete/", labels.complete, name="label_complete"),
    path("labels/<int:pk>/supersede/", label_entry.supersede, name="label_supersede"),
    path("labels/<int:pk>/withdraw/", label_entry.withdraw, name="label_withdraw"),
    path("labels/<int:pk>/files/add/", label_entry.attach, name="label_file_add"),
    path("labels/<int:pk>/files/<str:kind>/", labels.file, name="label_file"),
    path("labels/<int:pk>/directions/add/", label_entry.direction_add, name="direction_add"),
    path("directions/<int:pk>/edit/", label_entry.direction_edit, name="direction_edit"),
    path("directions/<int:pk>/remove/", label_entry.direction_remove, name="direction_remove"),
    path("labels/<int:pk>/limits/add/", label_entry.limit_add, name="limit_add"),
    path("limits/<int:pk>/remove/", label_entry.limit_remove, name="limit_remove"),
    path("stock/", stock.index, name="stock"),
    path("stock/receive/", stock.receive, name="lot_receive"),
    path("stock/places/add/", stock.add, name="stock_place_add"),
    path("stock/reorder/", stock.reorder, name="reorder_level"),
    path("stock/lots/<int:pk>/", stock.lot, name="lot"),
    path("stock/lots/<int:pk>/transfer/", stock_moves.transfer, name="lot_transfer"),
    path("stock/lots/<int:pk>/count/", stock_moves.adjust, name="lot_adjust"),
    path("stock/lots/<int:pk>/dispose/", stock_moves.dispose, name="lot_dispose"),
    path("stock/moves/<int:pk>/take-back/", stock_moves.take_back, name="move_take_back"),
    path("equipment/", equipment.index, name="equipment"),
    path("equipment/add/", equipment.add, name="equipment_add"),
    path("equipment/<int:pk>/", equipment.show, name="equipment_one"),
    path("equipment/<int:pk>/calibrate/", equipment.calibrate, name="calibrate"),
]
