from django.urls import path

from seedbank.api.brapi.crosses import (
    CrossingProjectDetail,
    CrossingProjectList,
    CrossList,
    PlannedCrossList,
)
from seedbank.api.brapi.germplasm import GermplasmDetail, GermplasmList
from seedbank.api.brapi.pedigree import GermplasmPedigree, GermplasmProgeny, PedigreeList
from seedbank.api.brapi.seedlots import (
    SeedLotDetail,
    SeedLotList,
    SeedLotTransactionList,
    TransactionList,
)
from seedbank.api.brapi.server import CommonCropNames, NoSuchCall, ServerInfo

# No slash at the end and the names of the standard, as its clients ask for them.
CALLS = [
    path("serverinfo", ServerInfo.as_view(), name="brapi-serverinfo"),
    path("commoncropnames", CommonCropNames.as_view(), name="brapi-crops"),
    path("germplasm", GermplasmList.as_view(), name="brapi-germplasm"),
    path("germplasm/<str:germplasmDbId>", GermplasmDetail.as_view(), name="brapi-germplasm-one"),
    path(
        "germplasm/<str:germplasmDbId>/pedigree",
        GermplasmPedigree.as_view(),
        name="brapi-germplasm-pedigree",
    ),
    path(
        "germplasm/<str:germplasmDbId>/progeny",
        GermplasmProgeny.as_view(),
        name="brapi-germplasm-progeny",
    ),
    path("pedigree", PedigreeList.as_view(), name="brapi-pedigree"),
    path("crosses", CrossList.as_view(), name="brapi-crosses"),
    path("plannedcrosses", PlannedCrossList.as_view(), name="brapi-plannedcrosses"),
    path("crossingprojects", CrossingProjectList.as_view(), name="brapi-projects"),
    path(
        "crossingprojects/<str:crossingProjectDbId>",
        CrossingProjectDetail.as_view(),
        name="brapi-project",
    ),
    path("seedlots", SeedLotList.as_view(), name="brapi-seedlots"),
    path("seedlots/transactions", TransactionList.as_view(), name="brapi-transactions"),
    path("seedlots/<str:seedLotDbId>", SeedLotDetail.as_view(), name="brapi-seedlot"),
    path(
        "seedlots/<str:seedLotDbId>/transactions",
        SeedLotTransactionList.as_view(),
        name="brapi-seedlot-transactions",
    ),
]

urlpatterns = [*CALLS, path("<path:call>", NoSuchCall.as_view())]
