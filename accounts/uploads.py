"""How much of an uploaded file is kept while it arrives."""

from __future__ import annotations

from io import BytesIO

from django.core.files.uploadedfile import UploadedFile
from django.core.files.uploadhandler import FileUploadHandler

MOST_BYTES = 25 * 1024 * 1024  # above the largest file that any form takes


class LargestUpload(FileUploadHandler):
    """Counts a file to its end and keeps nothing of it once it is above the largest of all.

    The form is given its name and size without a byte, and refuses it by its size with everything
    else that was typed. The handlers after this one never see what is too much.
    """

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes | None:
        """Pass a chunk on, or drop it; `start` counts the bytes before it."""
        return None if start + len(raw_data) > MOST_BYTES else raw_data

    def file_complete(self, file_size: int) -> UploadedFile[bytes] | None:
        """A file without content in place of one that was dropped."""
        if file_size <= MOST_BYTES:
            return None
        return UploadedFile(
            file=BytesIO(), name=self.file_name, content_type=self.content_type, size=file_size
        )
