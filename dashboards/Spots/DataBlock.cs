using System.Text.Json;
using Microsoft.AspNetCore.Components;
using Microsoft.AspNetCore.Components.Rendering;

namespace PavementWatch.Dashboards.Spots;

/// <summary>Values for the page's scripts, in a block that a browser does not run (so the content security policy allows it).</summary>
public sealed class DataBlock : ComponentBase
{
    // The web defaults escape <, > and &, so no value can end the block.
    private static readonly JsonSerializerOptions Form = new(JsonSerializerDefaults.Web);

    /// <summary>What the scripts look it up by.</summary>
    [Parameter, EditorRequired]
    public string Name { get; set; } = "";

    /// <summary>The values.</summary>
    [Parameter, EditorRequired]
    public object Value { get; set; } = null!;

    /// <inheritdoc />
    protected override void BuildRenderTree(RenderTreeBuilder builder)
    {
        ArgumentNullException.ThrowIfNull(builder);
        builder.OpenElement(0, "script");
        builder.AddAttribute(1, "type", "application/json");
        builder.AddAttribute(2, "data-block", Name);
        builder.AddMarkupContent(3, JsonSerializer.Serialize(Value, Form));
        builder.CloseElement();
    }
}
