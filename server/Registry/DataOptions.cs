using System.ComponentModel.DataAnnotations;
using Microsoft.Extensions.Options;

namespace PavementWatch.Server.Registry;

/// <summary>Where the server keeps what must survive it. Section <c>Data</c>.</summary>
internal sealed class DataOptions
{
    /// <summary>Folder of <c>registry.sqlite</c>, <c>readings.sqlite</c> and the keys; a relative one is taken from the server's own folder.</summary>
    [Required]
    public string Folder { get; set; } = "data";
}

[OptionsValidator]
internal sealed partial class DataOptionsValidator : IValidateOptions<DataOptions>;

/// <summary>The data folder, made or tightened when first asked for: readable by its owner only.</summary>
internal sealed class DataFolder
{
    public DataFolder(IOptions<DataOptions> options, IHostEnvironment environment)
    {
        Path = System.IO.Path.GetFullPath(options.Value.Folder, environment.ContentRootPath);
        PrivateFiles.Own(Path);
    }

    public string Path { get; }

    public string File(string name) => System.IO.Path.Combine(Path, name);
}
