"""A form with a key takes effect once, whatever its view does."""

from __future__ import annotations

import re

import pytest
from django.contrib import messages
from django.contrib.messages import get_messages
from django.contrib.messages.storage.fallback import FallbackStorage
from django.core.exceptions import PermissionDenied
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse, HttpResponseRedirect
from django.template import Context, Template
from django.test import RequestFactory

from deploy.kit.models import RequestKey
from deploy.kit.page_writes import PagesOnce


@pytest.fixture
def post(coordinator):
    """Post a form as the coordinator; `post.seen` are the bodies that the view got to see."""

    def post(view=None, user=coordinator.user, **form):
        request = RequestFactory().post("/put/", form, headers={"Referer": post.came_from})
        request.user, request.session = user, {}
        request._messages = FallbackStorage(request)
        done = PagesOnce(HttpResponse).process_view(request, view or put, (), {})
        post.said = [str(message) for message in get_messages(request)]
        return done

    def put(request):
        post.seen.append(
            [request.POST.get("text"), *(file.read() for file in request.FILES.values())]
        )
        messages.success(request, f"put {len(post.seen)}")
        return HttpResponseRedirect(f"/done/{len(post.seen)}/")

    post.seen, post.came_from = [], "http://testserver/form/"
    return post


def test_a_double_click_has_one_effect_and_the_same_answer(post):
    answers = [(post(request_key="k", text="a").url, post.said) for _ in range(2)]
    assert answers == [("/done/1/", ["put 1"])] * 2
    assert post.seen == [["a"]]


def test_the_same_form_filled_in_anew_is_another_request(post):
    urls = [post(request_key=key, text="a").url for key in ("k1", "k2")]
    assert urls == ["/done/1/", "/done/2/"]


def test_a_page_that_was_used_before_is_brought_afresh(post):
    post(request_key="k", text="a")
    assert post(request_key="k", text="b").url == "http://testserver/form/"
    assert post.said == [
        "That page had been used before, and nothing was done now. Here is a fresh one."
    ]
    assert post.seen == [["a"]]


def test_the_way_back_leads_nowhere_else(post):
    post(request_key="k", text="a")
    post.came_from = "https://elsewhere.example/"
    assert post(request_key="k", text="b").url == "/put/"


def test_files_are_part_of_the_request(post):
    def sent(content: bytes) -> str:
        return post(request_key="k", text="a", file=SimpleUploadedFile("f", content)).url

    assert [sent(b"1"), sent(b"1"), sent(b"2")] == ["/done/1/"] * 2 + ["http://testserver/form/"]
    assert post.seen == [["a", b"1"]]


def test_a_form_that_comes_back_with_its_faults_may_be_sent_again(post):
    for _ in range(2):
        assert post(lambda request: HttpResponse("faults"), request_key="k").content == b"faults"
    assert not RequestKey.objects.exists()


def test_a_refusal_of_the_door_is_the_doors(post):
    def closed(request):
        raise PermissionDenied

    with pytest.raises(PermissionDenied):
        post(closed, request_key="k")
    assert not RequestKey.objects.exists()


@pytest.mark.parametrize("form", [{}, {"request_key": ""}, {"request_key": "k" * 65}])
def test_without_a_key_the_view_does_what_it_does(post, form):
    assert post(**form) is None


def test_a_form_has_a_key_of_its_own():
    form = Template("{% load muster %}{% request_key %}")
    keys = {
        re.fullmatch(
            r'<input type="hidden" name="request_key" value="(\w{32})">', form.render(Context())
        )[1]
        for _ in range(2)
    }
    assert len(keys) == 2
