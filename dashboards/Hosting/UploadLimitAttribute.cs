using Microsoft.AspNetCore.Http.Metadata;

namespace PavementWatch.Dashboards.Hosting;

/// <summary>How large a request a page takes. The host answers a larger one before reading it.</summary>
/// <param name="mostBytes">[bytes] Most it takes.</param>
[AttributeUsage(AttributeTargets.Class)]
public sealed class UploadLimitAttribute(long mostBytes) : Attribute, IRequestSizeLimitMetadata
{
    /// <summary>[bytes] Most it takes.</summary>
    public long MostBytes => mostBytes;

    long? IRequestSizeLimitMetadata.MaxRequestBodySize => mostBytes;
}
