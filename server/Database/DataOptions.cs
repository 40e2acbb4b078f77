using System.ComponentModel.DataAnnotations;
using Microsoft.Extensions.Options;

namespace PavementWatch.Server.Database;

/// <summary>Where the server keeps what must survive it. Section <c>Data</c>.</summary>
internal sealed class DataOptions
{
    /// <summary>Folder of <c>registry.sqlite</c>, <c>readings.sqlite</c> and the keys; a relative one is taken from the server's own folder.</summary>
    [Required]
    public string Folder { get; set; } = "data";

    /// <summary>How often the folder's disk is tried by writing a small file. 1 s to 1 h inclusive; 30 s unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:01", "01:00:00")]
    public TimeSpan ProbeEvery { get; set; } = TimeSpan.FromSeconds(30);
}

[OptionsValidator]
internal sealed partial class DataOptionsValidator : IValidateOptions<DataOptions>;

/// <summary>The data folder, made or tightened when first asked for: readable by its owner only.</summary>
internal sealed class DataFolder
{
    // Stands there from the first file that a restore touches to the last.
    private const string RestoreName = "restore.unfinished";

    public DataFolder(IOptions<DataOptions> options, IHostEnvironment environment)
    {
        Path = System.IO.Path.GetFullPath(options.Value.Folder, environment.ContentRootPath);
        PrivateFiles.Own(Path);
    }

    public string Path { get; }

    public string File(string name) => System.IO.Path.Combine(Path, name);

    /// <summary>Refuses a folder that holds half of a backup and half of what was there before it.</summary>
    /// <exception cref="IOException">A restore was cut off.</exception>
    public void RequireWhole()
    {
        if (System.IO.File.Exists(File(RestoreName)))
        {
            throw new IOException(
                $"data folder {Path}: a restore was cut off, and what is there is half old and half new; run it again: restore {System.IO.File.ReadAllText(File(RestoreName))}");
        }
    }

    /// <summary>Says that the folder is not whole until <see cref="EndRestore"/>.</summary>
    public void BeginRestore(string from)
    {
        using var mark = new FileStream(File(RestoreName), FileMode.Create, FileAccess.Write);
        mark.Write(System.Text.Encoding.UTF8.GetBytes(from));
        mark.Flush(flushToDisk: true);
    }

    public void EndRestore() => System.IO.File.Delete(File(RestoreName));
}
