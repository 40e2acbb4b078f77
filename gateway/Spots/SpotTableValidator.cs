using System.ComponentModel.DataAnnotations;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Gateway.Spots;

/// <summary>Looks at each spot's name and settings.</summary>
internal sealed class SpotTableValidator : IValidateOptions<SpotTable>
{
    public ValidateOptionsResult Validate(string? name, SpotTable options)
    {
        List<string> faults = [];
        foreach (var (spot, o) in options)
        {
            if (!SpotId.TryParse(spot, out _))
                faults.Add($"Spots:{spot}: a spot's name is 1 to {SpotId.MaxLength} of a-z, 0-9 and '-', starting with a letter or digit");
            if (o.Surface.Length > 0 && !SurfaceKinds.TryParse(o.Surface, out _))
                faults.Add($"Spots:{spot}:Surface is '{o.Surface}', expected one of {string.Join(", ", SurfaceKinds.All.Select(SurfaceKinds.Slug))}");
            List<ValidationResult> results = [];
            Validator.TryValidateObject(o, new ValidationContext(o), results, validateAllProperties: true);
            faults.AddRange(results.Select(r => $"Spots:{spot}: {r.ErrorMessage}"));
        }

        return faults.Count == 0 ? ValidateOptionsResult.Success : ValidateOptionsResult.Fail(faults);
    }
}
