using System.Diagnostics.CodeAnalysis;
using Microsoft.AspNetCore.Identity;

namespace PavementWatch.Server.People;

/// <summary>Names are told apart as they are written.</summary>
internal sealed class ExactNames : ILookupNormalizer
{
    [return: NotNullIfNotNull(nameof(name))]
    public string? NormalizeName(string? name) => name;

    [return: NotNullIfNotNull(nameof(email))]
    public string? NormalizeEmail(string? email) => email;
}
