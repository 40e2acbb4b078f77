using Microsoft.AspNetCore.Http.Metadata;

namespace PavementWatch.Dashboards.Hosting;

/// <summary>How large a request a page takes. The host answers a larger one before reading it.</summary>
/// <param name="mostBytes">[bytes] Most it takes.</param>
[AttributeUsage(AttributeTargets.Class)]
public sealed class UploadLimitAttribute(long mostBytes) : Attribute, IRequestSizeLimitMetadata, IFormOptionsMetadata
{
    /// <summary>[bytes] Most it takes.</summary>
    public long MostBytes => mostBytes;

    long? IRequestSizeLimitMetadata.MaxRequestBodySize => mostBytes;

    // What the framework would refuse a large file with on its own; the rest stays as it is. Files go to a temporary
    // file from 64 KiB on, so their size costs no memory.
    long? IFormOptionsMetadata.MultipartBodyLengthLimit => mostBytes;

    bool? IFormOptionsMetadata.BufferBody => null;

    int? IFormOptionsMetadata.MemoryBufferThreshold => null;

    long? IFormOptionsMetadata.BufferBodyLengthLimit => null;

    int? IFormOptionsMetadata.ValueCountLimit => null;

    int? IFormOptionsMetadata.KeyLengthLimit => null;

    int? IFormOptionsMetadata.ValueLengthLimit => null;

    int? IFormOptionsMetadata.MultipartBoundaryLengthLimit => null;

    int? IFormOptionsMetadata.MultipartHeadersCountLimit => null;

    int? IFormOptionsMetadata.MultipartHeadersLengthLimit => null;
}
