from django.urls import URLPattern, path

from crosses.views import capsule, cross, harvest, plant, pollination

urlpatterns: list[URLPattern] = [
    path("plants/", plant.plant_list, name="plant-list"),
    path("plants/add/", plant.plant_add, name="plant-add"),
    path("plants/<str:number>/", plant.plant_detail, name="plant-detail"),
    path("plants/<str:number>/partners/", plant.plant_partners, name="plant-partners"),
    path("plants/<str:number>/change/", plant.plant_change, name="plant-change"),
    path("plants/<str:number>/dead/", plant.plant_dead, name="plant-dead"),
    path("plants/<str:number>/withdraw/", plant.plant_withdraw, name="plant-withdraw"),
    path("crosses/", cross.cross_list, name="cross-list"),
    path("crosses/add/", cross.cross_add, name="cross-add"),
    path("crosses/season/", cross.cross_season, name="cross-season"),
    path("crosses/<str:number>/", cross.cross_detail, name="cross-detail"),
    path("crosses/<str:number>/change/", cross.cross_change, name="cross-change"),
    path("crosses/<str:number>/withdraw/", cross.cross_withdraw, name="cross-withdraw"),
    path("crosses/<str:number>/harvest/", harvest.harvest_add, name="harvest-add"),
    path("flowers/", pollination.pollination_list, name="pollination-list"),
    path("flowers/add/", pollination.pollination_add, name="pollination-add"),
    path("flowers/calendar/", pollination.pollination_calendar, name="pollination-calendar"),
    path("flowers/tags/", pollination.pollination_tags, name="pollination-tags"),
    path("flowers/<str:number>/", pollination.pollination_detail, name="pollination-detail"),
    path("flowers/<str:number>/tag/", pollination.pollination_tag, name="pollination-tag"),
    path("flowers/<str:number>/change/", pollination.pollination_change, name="pollination-change"),
    path(
        "flowers/<str:number>/touch-up/",
        pollination.pollination_touch_up,
        name="pollination-touch-up",
    ),
    path(
        "flowers/<str:number>/withdraw/",
        pollination.pollination_withdraw,
        name="pollination-withdraw",
    ),
    path("flowers/<str:number>/check/", capsule.check_add, name="check-add"),
    path("flowers/<str:number>/check/<int:check_id>/undo/", capsule.check_undo, name="check-undo"),
    path("flowers/<str:number>/check/<int:check_id>/photo/", capsule.photo_add, name="photo-add"),
    path("flowers/<str:number>/photos/<int:photo_id>/", capsule.photo_file, name="photo-file"),
    path(
        "flowers/<str:number>/photos/<int:photo_id>/withdraw/",
        capsule.photo_withdraw,
        name="photo-withdraw",
    ),
    path("harvests/<str:number>/", harvest.harvest_detail, name="harvest-detail"),
    path("harvests/<str:number>/count/", harvest.harvest_count, name="harvest-count"),
    path("harvests/<str:number>/withdraw/", harvest.harvest_withdraw, name="harvest-withdraw"),
]
